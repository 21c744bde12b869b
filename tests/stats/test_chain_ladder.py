"""The chain ladder against the published triangle, and against growth that is known."""

import numpy as np
import pytest

from analytics.errors import TooFewError
from analytics.stats.chain_ladder import chain_ladder

# Taylor & Ashe, Journal of Econometrics 23 (1983) 37: incremental claims, a row a year.
TAYLOR_ASHE = [
    [357848, 766940, 610542, 482940, 527326, 574398, 146342, 139950, 227229, 67948],
    [352118, 884021, 933894, 1183289, 445745, 320996, 527804, 266172, 425046],
    [290507, 1001799, 926219, 1016654, 750816, 146923, 495992, 280405],
    [310608, 1108250, 776189, 1562400, 272482, 352053, 206286],
    [443160, 693190, 991983, 769488, 504851, 470639],
    [396132, 937085, 847498, 805037, 705960],
    [440832, 847631, 1131398, 1063269],
    [359480, 1061648, 1443370],
    [376686, 986608],
    [344014],
]


def cumulative(rows: list[list[int]]) -> np.ndarray:
    square = np.full((len(rows), len(rows)), np.nan)
    for place, row in enumerate(rows):
        square[place, : len(row)] = np.cumsum(row)
    return square


def test_the_published_reserve_and_standard_error() -> None:
    # Mack, ASTIN Bulletin 23 (1993) 213, tables 1 and 3: 18 680 856 and 2 447 095 (in thousands there).
    found = chain_ladder(cumulative(TAYLOR_ASHE))
    assert found.expected == pytest.approx(18_680_855.61, abs=0.01)
    assert found.error == pytest.approx(2_447_094.86, abs=0.01)


def test_the_published_factors_years_and_spreads() -> None:
    # Same source; digits beyond the printed ones by an independent library set to Mack's own last spread.
    found = chain_ladder(cumulative(TAYLOR_ASHE))
    factors = [3.490607, 1.747333, 1.457413, 1.173852, 1.103824, 1.086269, 1.053874, 1.076555, 1.017725]
    assert found.factors == pytest.approx(factors, abs=5e-7)
    ahead = [0, 94633.8, 469511.3, 709637.8, 984888.6, 1419459.5, 2177640.6, 3920301.0, 4278972.3, 4625810.7]
    assert found.ahead == pytest.approx(ahead, abs=0.06)
    errors = [0, 75535, 121699, 133549, 261406, 411010, 558317, 875328, 971258, 1363155]
    assert found.errors == pytest.approx(errors, abs=0.6)
    spreads = [160280.33, 37736.86, 41965.21, 15182.90, 13731.32, 8185.77, 446.62, 1147.37, 446.62]
    assert found.spreads == pytest.approx(spreads, abs=0.006)


def test_years_that_all_grow_alike_leave_no_error() -> None:
    grown = np.outer([10, 20, 30, 40, 50], [1, 1.5, 1.8, 1.9, 1.95])
    found = chain_ladder(grown)
    assert found.expected == pytest.approx(sum(grown[row, -1] - grown[row, 4 - row] for row in range(5)))
    assert found.error == pytest.approx(0, abs=1e-6)


def test_what_lies_past_the_diagonal_is_not_read() -> None:
    triangle = cumulative(TAYLOR_ASHE)
    filled = np.where(np.isnan(triangle), 1e9, triangle)
    assert chain_ladder(filled).expected == chain_ladder(triangle).expected


def test_the_unit_scales_through() -> None:
    triangle = cumulative(TAYLOR_ASHE)
    whole, thousands = chain_ladder(triangle), chain_ladder(triangle / 1000)
    assert thousands.expected == pytest.approx(whole.expected / 1000)
    assert thousands.error == pytest.approx(whole.error / 1000)


def test_too_few_years_or_nothing_to_grow_from_is_said() -> None:
    with pytest.raises(TooFewError, match="3 years of work"):
        chain_ladder(np.ones((3, 3)))
    with pytest.raises(TooFewError, match="nothing to grow from"):
        chain_ladder(np.zeros((5, 5)))

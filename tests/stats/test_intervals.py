"""Intervals against published tables and their own definitions."""

from math import exp, inf, nan

import numpy as np
import pytest
from scipy import stats

from analytics.errors import LeakbackError
from analytics.stats.intervals import clopper_pearson, garwood, log_log, log_scale, wilson

COUNTS, SIZES = np.array([81, 15, 0, 1]), np.array([263, 148, 20, 29])


def test_wilson_on_newcombes_examples() -> None:
    # Newcombe, Stat. Med. 17 (1998) 857–872, Table I, method 3.
    low, high = wilson(COUNTS, SIZES, 0.95)
    assert low == pytest.approx([0.2553, 0.0624, 0, 0.0061], abs=5e-5)
    assert high == pytest.approx([0.3662, 0.1605, 0.1611, 0.1718], abs=5e-5)


def test_clopper_pearson_on_newcombes_examples() -> None:
    # The same table, method 5.
    low, high = clopper_pearson(COUNTS, SIZES, 0.95)
    assert low == pytest.approx([0.2527, 0.0578, 0, 0.0009], abs=5e-5)
    assert high == pytest.approx([0.3676, 0.1617, 0.1684, 0.1776], abs=5e-5)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.998])
def test_shares_agree_with_scipy_on_every_count_of_thirty(level: float) -> None:
    counts = np.arange(31)
    exact, score = clopper_pearson(counts, 30, level), wilson(counts, 30, level)
    for count in counts:
        test = stats.binomtest(int(count), 30)
        for ours, theirs in (
            (exact, test.proportion_ci(level, "exact")),
            (score, test.proportion_ci(level, "wilson")),
        ):
            assert (ours.low[count], ours.high[count]) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_clopper_pearson_takes_an_effective_sample_size_that_is_not_whole() -> None:
    low, high = clopper_pearson([2, 2.25, 3], [40, 41.5, 43], 0.9)
    assert low[0] < low[1] < low[2]
    assert high[0] < high[1] < high[2]
    # By definition: each limit leaves 5 % of the beta distribution beyond it.
    assert stats.beta.cdf(low[1], 2.25, 41.5 - 2.25 + 1) == pytest.approx(0.05)
    assert stats.beta.sf(high[1], 2.25 + 1, 41.5 - 2.25) == pytest.approx(0.05)


def test_nothing_seen_leaves_everything_possible() -> None:
    for interval in (wilson(0, 0, 0.95), clopper_pearson(0, 0, 0.95)):
        assert [float(limit) for limit in interval] == [0, 1]


def test_garwood_on_its_table() -> None:
    # Garwood, Biometrika 28 (1936) 437–442.
    low, high = garwood([0, 1, 3, 5, 10, 20, 50, 100], 0.95)
    assert low == pytest.approx([0, 0.0253, 0.6187, 1.623, 4.7954, 12.2165, 37.1110, 81.3640], abs=5e-4)
    assert high == pytest.approx([3.6889, 5.5716, 8.7673, 11.668, 18.3904, 30.8884, 65.9188, 121.6268], abs=5e-4)


def test_garwood_leaves_its_tails_by_definition() -> None:
    low, high = garwood(7, 0.9)
    assert stats.poisson.sf(6, low) == pytest.approx(0.05)
    assert stats.poisson.cdf(7, high) == pytest.approx(0.05)


def test_log_log_on_the_remission_trial() -> None:
    # Freireich et al. 1963 in Cox & Oakes 1984: survival and standard error at 6, 10, 16, 23 weeks.
    # Intervals by lifelines 0.30 and R survfit(conf.type = "log-log").
    survival = np.array([0.857143, 0.752941, 0.627451, 0.448179])
    error = np.array([0.076360, 0.096350, 0.114054, 0.134591])
    low, high = log_log(survival, (error / survival) ** 2, 0.95)
    assert low == pytest.approx([0.619718, 0.503200, 0.367511, 0.188052], abs=5e-6)
    assert high == pytest.approx([0.951552, 0.889362, 0.804912, 0.680143], abs=5e-6)


def test_log_log_has_nothing_to_say_at_the_edges() -> None:
    low, high = log_log([1, 0, 0.5], [0, inf, 0.01], 0.95)
    assert np.isnan(low).tolist() == np.isnan(high).tolist() == [True, True, False]


def test_log_scale_multiplies_and_divides_by_the_same() -> None:
    # Student's t, 97.5 %: 2.228 at 10 degrees of freedom, 1.960 at infinity (standard table, from memory).
    low, high = log_scale([2.0, 2.0], 0.1, [10, inf], 0.95)
    assert high == pytest.approx([2 * exp(0.2228), 2 * exp(0.1960)], rel=5e-5)
    assert low * high == pytest.approx([4, 4])


def test_a_higher_level_is_wider() -> None:
    for narrow, wide in (
        (wilson(COUNTS, SIZES, 0.8), wilson(COUNTS, SIZES, 0.95)),
        (clopper_pearson(COUNTS, SIZES, 0.8), clopper_pearson(COUNTS, SIZES, 0.95)),
        (garwood(COUNTS, 0.8), garwood(COUNTS, 0.95)),
        (log_log([0.9], [0.01], 0.8), log_log([0.9], [0.01], 0.95)),
        (log_scale([0.9], 0.1, 9, 0.8), log_scale([0.9], 0.1, 9, 0.95)),
    ):
        assert np.all(wide.low <= narrow.low)
        assert np.all(wide.high > narrow.high)


def test_what_is_not_known_stays_not_known() -> None:
    assert np.isnan(wilson([nan, 1, 0], [9, nan, nan], 0.9)).all()
    assert np.isnan(clopper_pearson([nan, 1, 0], [9, nan, nan], 0.9)).all()
    assert np.isnan(garwood([nan], 0.9)).all()
    assert np.isnan(log_scale([nan, 1, 1], [0.1, nan, 0.1], [9, 9, nan], 0.9)).all()


@pytest.mark.parametrize("level", [0, 1, 95, -0.5, nan])
def test_a_level_outside_0_to_1_is_refused(level: float) -> None:
    with pytest.raises(LeakbackError, match="must lie between 0 and 1"):
        wilson(1, 10, level)
    with pytest.raises(LeakbackError, match="must lie between 0 and 1"):
        garwood(1, level)


def test_impossible_inputs_are_refused() -> None:
    for count in (-1, 11):
        with pytest.raises(LeakbackError, match="0 <= count <= n"):
            wilson(count, 10, 0.95)
        with pytest.raises(LeakbackError, match="0 <= count <= n"):
            clopper_pearson([1, count], 10, 0.95)
    with pytest.raises(LeakbackError, match="below 0"):
        garwood([3, -1], 0.95)
    with pytest.raises(LeakbackError, match="not above 0"):
        log_scale([0.0, 1.0], 0.1, 9, 0.95)

"""Win rates and the win curve: published intervals, a known optimum, and why the curve is no advice."""

import numpy as np
import polars as pl
import pytest
from scipy import optimize, special
from sklearn.linear_model import LogisticRegression

from analytics.decisions.costs import price_floor, price_target
from analytics.decisions.winning import (
    BANDS,
    FEWEST_QUOTES,
    WinCurve,
    by_band,
    contribution,
    curve_points,
    win_curve,
)
from analytics.errors import TooFewError

NONE = np.zeros((2, 2))


def test_a_floor_a_margin_and_what_is_left() -> None:
    # Worked: cost 420, one leak-back of 560 at 8 %, 35 % aimed for (arithmetic)
    floor = price_floor(420.0, 0.08 * 560)
    assert floor == pytest.approx(464.8)
    assert price_target(floor, 0.35) == pytest.approx(715.08, abs=0.005)
    left = float(contribution(np.ones(1), np.array([750.0]), floor)[0])
    assert left == pytest.approx(285.20)
    assert left / 750 == pytest.approx(0.3803, abs=5e-5)


def test_expected_contribution_peaks_where_the_closed_form_says() -> None:
    # p* = c + (1 + W(exp(a - k c - 1))) / k with k = b / reference: Lambert's W, closed form
    a, b, reference, cost = 3.9, 3.5, 700.0, 464.8
    k = b / reference
    best = cost + (1 + special.lambertw(np.exp(a - k * cost - 1)).real) / k
    assert best == pytest.approx(824.7239, abs=5e-5)
    curve = WinCurve(a, b, NONE)
    assert curve.wins(np.array([best / reference]))[0] == pytest.approx(0.4443, abs=5e-5)

    def lost(price: float) -> float:
        return -float(contribution(curve.wins(np.array([price / reference])), np.array([price]), cost)[0])

    found = optimize.minimize_scalar(lost, bounds=(500, 1500), method="bounded", options={"xatol": 1e-6})
    assert found.x == pytest.approx(best, abs=1e-2)


def test_bands_have_wilsons_intervals() -> None:
    # Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3
    counts = {0.85: (81, 263), 0.95: (15, 148), 1.05: (0, 20), 1.15: (1, 29)}
    ratios = np.repeat(list(counts), [n for _, n in counts.values()])
    won = np.concatenate([np.arange(n) < wins for wins, n in counts.values()])
    found = by_band(ratios, won, 0.95)
    assert found["band"].to_list() == list(BANDS[1:5])
    assert found["quotes"].to_list() == [263, 148, 20, 29]
    assert found["low"].to_list() == pytest.approx([0.2553, 0.0624, 0.0, 0.0061], abs=5e-5)
    assert found["high"].to_list() == pytest.approx([0.3662, 0.1605, 0.1611, 0.1718], abs=5e-5)


def test_a_price_at_an_edge_is_in_the_upper_band() -> None:
    assert by_band(np.array([0.8, 1.0, 1.2]), np.array([True] * 3), 0.95)["band"].to_list() == [
        BANDS[1],
        BANDS[3],
        BANDS[5],
    ]


def quotes(count: int, seed: int, hidden: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Price over target and whether it was won, true slope 4; ``hidden`` is how much urgency raises the price."""
    rng = np.random.default_rng(seed)
    urgency = rng.normal(0, 0.7, count)
    log_ratio = rng.normal(0, 0.12, count) + hidden * urgency
    odds = 1.6 - 4 * log_ratio + (urgency if hidden else 0.0)
    return np.exp(log_ratio), rng.random(count) < special.expit(odds)


def test_a_curve_finds_the_true_slope_where_prices_were_set_at_random() -> None:
    found = win_curve(*quotes(8000, 1))
    error = np.sqrt(found.covariance[1, 1])
    assert abs(found.slope - 4) < 3 * error  # near ratio 1, the slope on the ratio is that on its log


@pytest.mark.parametrize("count", [1500, 6000, 24_000])
def test_prices_set_with_the_customer_in_view_hide_the_slope_at_any_number_of_quotes(count: int) -> None:
    # Own simulation: a hidden urgency that raises both price and win; a true slope of 4 reads less than half.
    assert win_curve(*quotes(count, 3, hidden=0.1)).slope < 2.4


def test_the_curve_is_scikit_learns() -> None:
    ratios, won = quotes(1200, 11)
    fit = LogisticRegression(C=np.inf, tol=1e-10, max_iter=10_000).fit(ratios[:, None], won)
    found = win_curve(ratios, won)
    assert (found.level, -found.slope) == pytest.approx((fit.intercept_[0], fit.coef_[0, 0]), rel=1e-6)


def test_prices_that_part_won_from_lost_give_no_curve() -> None:
    ratios = np.linspace(0.5, 1.5, 400)
    with pytest.raises(TooFewError, match="no quote won was dearer than a quote lost"):
        win_curve(ratios, ratios < 1)
    with pytest.raises(TooFewError, match="no quote won was dearer than a quote lost"):
        win_curve(np.ones(400), np.arange(400) % 2 == 0)
    assert win_curve(ratios, ratios > 1).slope == 0


def test_the_curve_never_rises_with_the_price() -> None:
    ratios, won = quotes(2000, 5)
    found = win_curve(2 - ratios, won)
    assert found.slope == 0
    assert found.wins(np.array([0.8, 1.2])) == pytest.approx(won.mean())


def test_too_few_quotes_say_how_many_more_would_do() -> None:
    ratios, won = quotes(FEWEST_QUOTES - 20, 7)
    with pytest.raises(TooFewError, match="20 more would do"):
        win_curve(ratios, won)
    with pytest.raises(TooFewError, match="no lost quote is recorded"):
        win_curve(ratios, np.ones_like(won))
    few = np.arange(400) >= 10
    with pytest.raises(TooFewError, match="too few lost quotes for a curve: 20 more"):
        win_curve(np.linspace(0.8, 1.2, 400), few)


def test_the_curve_is_held_within_the_prices_seen() -> None:
    ratios, won = quotes(1000, 9)
    points = curve_points(win_curve(ratios, won), ratios, 700.0, 450.0, 0.95)
    assert np.quantile(ratios, 0.025) == pytest.approx(points["ratio"].min())
    assert np.quantile(ratios, 0.975) == pytest.approx(points["ratio"].max())
    inside = points.select((pl.col("low") <= pl.col("value")) & (pl.col("value") <= pl.col("high")))
    assert inside.to_series().all()
    first = points.row(0, named=True)
    assert first["contribution"] == pytest.approx(first["value"] * (700 * first["ratio"] - 450))

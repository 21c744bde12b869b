"""The warranty reserve: which cracks, how many leak-backs, when, at what cost."""

import math
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from scipy import optimize, special

from analytics.contract.ages import DAYS_PER_YEAR
from analytics.decisions import reserving
from analytics.decisions.quarters import MOST_QUARTERS, quarter_before, quarter_ends
from analytics.decisions.reserving import FEWEST_COSTS, cost_draws, outlook, under_warranty
from analytics.errors import LeakbackError, TooFewError
from analytics.risk import HazardModel, Penalties, fit
from analytics.risk.exposure import by_band

AS_OF = date(2026, 6, 30)
COSTS = [200.0, 250.0, 300.0, 350.0, 400.0]


def history(cracks: int = 1200, seed: int = 3) -> pl.DataFrame:
    """Done cracks with warranties of two and five years, and hazards that fall with age."""
    rng = np.random.default_rng(seed)
    age = rng.integers(1, 2200, cracks)
    done_on = [AS_OF - timedelta(days=int(days)) for days in age]
    warranty = np.where(rng.random(cracks) < 0.3, 730, 1826)
    leaks = np.ceil(rng.exponential(1 / 0.06, cracks) ** 1.3 * DAYS_PER_YEAR / 2)
    end = np.minimum(age, warranty)
    return pl.DataFrame(
        {
            "crack_id": [f"K{place}" for place in range(cracks)],
            "job_id": [f"J{place // 2}" for place in range(cracks)],
            "crew_id": "C1",
            "year": [day.year for day in done_on],
            "done_on": done_on,
            "warranty_ends_on": [day + timedelta(days=int(long)) for day, long in zip(done_on, warranty, strict=True)],
            "leaked_back": leaks <= end,
            "watched_days": np.maximum(np.minimum(leaks, end), 0.5),
        }
    )


@pytest.fixture(scope="module")
def done() -> pl.DataFrame:
    return history()


@pytest.fixture(scope="module")
def model(done: pl.DataFrame) -> HazardModel:
    return fit(done, AS_OF, Penalties(1.0, 1.0), features=(), with_crews=False)


def test_without_features_it_is_leak_backs_over_exposure_by_age(done: pl.DataFrame, model: HazardModel) -> None:
    years, leaked = by_band(done, model.edges_days)
    rates = dict(enumerate(leaked.sum(axis=0) / years.sum(axis=0)))
    edges = [*map(float, model.edges_days), math.inf]
    expected = 0.0
    for row in under_warranty(done, AS_OF, model.oldest_days).to_dicts():
        hazard = sum(
            rate * max(0.0, min(row["end_days"], edges[band + 1]) - max(row["age_days"], edges[band])) / DAYS_PER_YEAR
            for band, rate in rates.items()
        )
        expected += 1 - math.exp(-hazard)
    assert outlook(model, done, AS_OF, COSTS).at(0.9).leak_backs.value == pytest.approx(expected, rel=1e-5)


def test_the_95th_percentile_of_20_exponential_costs() -> None:
    # Compound Poisson, closed form: 20 expected, exponential costs of mean 1 500.
    expected, mean = 20.0, 1500.0
    counts = np.arange(1, 120)
    chances = np.exp(counts * np.log(expected) - expected - special.gammaln(counts + 1))

    def share_below(total: float) -> float:
        return float(np.exp(-expected) + (chances * special.gammainc(counts, total / mean)).sum())

    exact = optimize.brentq(lambda total: share_below(total) - 0.95, 1e4, 1e5)
    assert exact == pytest.approx(46_790.53, abs=0.01)
    rng = np.random.default_rng(5)
    pool = -mean * np.log1p(-(np.arange(20_000) + 0.5) / 20_000)
    drawn = cost_draws(rng.poisson(expected, (200_000, 1)), pool, rng)
    assert np.quantile(drawn, 0.95) == pytest.approx(exact, abs=200)  # about three of its own standard errors


def test_the_mean_cost_is_only_known_as_well_as_so_many_costs_allow() -> None:
    rng = np.random.default_rng(5)
    many = np.full((20_000, 1), 10_000)  # so many that chance averages out
    costs = np.array([100.0, 200.0, 300.0, 400.0, 500.0])
    error = costs.std(ddof=1) / np.sqrt(5)
    assert cost_draws(many[:2000], costs, rng).std() / 10_000 == pytest.approx(error, rel=0.1)


@pytest.mark.parametrize("at_once", [1, 3001])
def test_costs_are_the_same_priced_in_parts(monkeypatch: pytest.MonkeyPatch, at_once: int) -> None:
    counts = np.random.default_rng(1).binomial(40, 0.3, (500, 7))
    costs = np.array([100.0, 200.0, 300.0, 400.0, 500.0])
    whole = cost_draws(counts, costs, np.random.default_rng(5))
    monkeypatch.setattr(reserving, "MOST_DRAWN", at_once)
    assert (cost_draws(counts, costs, np.random.default_rng(5)) == whole).all()


def test_cracks_that_leaked_or_outlived_their_warranty_are_not_kept_for(done: pl.DataFrame) -> None:
    held = under_warranty(done, AS_OF, 2200.0)
    assert not held["leaked_back"].any()
    assert (held["warranty_ends_on"] > AS_OF).all()
    kept = done.filter(~pl.col("leaked_back") & (pl.col("warranty_ends_on") > AS_OF))
    assert held.height == kept.height


def test_a_warranty_without_end_is_counted_to_the_oldest_age_seen(done: pl.DataFrame, model: HazardModel) -> None:
    endless = done.with_columns(warranty_ends_on=pl.lit(None, pl.Date))
    held = under_warranty(endless, AS_OF, model.oldest_days)
    assert held["open_ended"].all()
    assert held["end_days"].unique().to_list() == [model.oldest_days]
    found = outlook(model, endless, AS_OF, COSTS).at(0.9)
    assert found.open_ended == found.cracks
    assert found.past_oldest == pytest.approx(0, abs=1e-9)


def test_what_rests_on_ages_nobody_has_seen_is_said(done: pl.DataFrame, model: HazardModel) -> None:
    longer = done.with_columns(warranty_ends_on=pl.col("done_on") + pl.duration(days=3650))
    share = outlook(model, longer, AS_OF, COSTS).at(0.9).past_oldest
    assert 0.2 < share < 0.9
    assert outlook(model, done, AS_OF, COSTS).at(0.9).past_oldest == pytest.approx(0, abs=1e-9)


def test_quarters_and_years_add_up_to_the_whole(done: pl.DataFrame, model: HazardModel) -> None:
    found = outlook(model, done, AS_OF, COSTS).at(0.9)
    assert found.cost is not None
    for rows in (found.by_quarter, found.by_year):
        assert rows["expected_leak_backs"].sum() == pytest.approx(found.leak_backs.value)
        assert rows["expected_cost"].sum() == pytest.approx(found.cost.value)
        assert (rows["low"] <= rows["expected_leak_backs"]).all()
        assert (rows["expected_leak_backs"] <= rows["high"]).all()
    assert found.by_year["cracks"].sum() == found.cracks
    assert found.cost.value == pytest.approx(found.leak_backs.value * 300)


def test_rows_in_any_order_give_the_same(done: pl.DataFrame, model: HazardModel) -> None:
    one, other = outlook(model, done, AS_OF, COSTS).at(0.9), outlook(model, done.reverse(), AS_OF, COSTS).at(0.9)
    assert other.leak_backs.value == pytest.approx(one.leak_backs.value)
    assert other.leak_backs.high == pytest.approx(one.leak_backs.high, abs=1)


def test_a_wider_level_is_a_wider_interval(done: pl.DataFrame, model: HazardModel) -> None:
    half, most = (outlook(model, done, AS_OF, COSTS).at(level) for level in (0.5, 0.95))
    assert most.leak_backs.low < half.leak_backs.low < half.leak_backs.high < most.leak_backs.high


def test_too_few_costs_leave_money_out(done: pl.DataFrame, model: HazardModel) -> None:
    found = outlook(model, done, AS_OF, COSTS[: FEWEST_COSTS - 1]).at(0.9)
    assert found.cost is None
    assert found.by_quarter["expected_cost"].null_count() == found.by_quarter.height


def test_no_crack_under_warranty_and_no_level_are_said(done: pl.DataFrame, model: HazardModel) -> None:
    over = done.with_columns(warranty_ends_on=pl.lit(AS_OF))
    with pytest.raises(TooFewError, match="no repaired crack is under warranty"):
        outlook(model, over, AS_OF, COSTS).at(0.9)
    with pytest.raises(LeakbackError, match="level"):
        outlook(model, done, AS_OF, COSTS).at(1.0)


def test_quarters_run_from_the_next_day_to_the_last() -> None:
    assert quarter_ends(date(2026, 10, 31), 61) == [date(2026, 12, 31)]
    assert quarter_ends(date(2026, 10, 31), 62) == [date(2026, 12, 31), date(2027, 3, 31)]
    assert quarter_ends(date(2026, 6, 30), 1) == [date(2026, 9, 30)]
    far = quarter_ends(date(2026, 6, 30), 36_525)
    assert len(far) == MOST_QUARTERS + 1
    assert far[-1] == date(2026, 6, 30) + timedelta(days=36_525)


def test_the_quarter_before_is_over() -> None:
    assert quarter_before(date(2026, 10, 31)) == date(2026, 9, 30)
    assert quarter_before(date(2026, 9, 30)) == date(2026, 6, 30)
    assert quarter_before(date(2026, 1, 1)) == date(2025, 12, 31)

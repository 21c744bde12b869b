"""The check on later jobs tells a model that foresees from one that does not."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.errors import TooFewError
from analytics.risk import HazardModel, judge, train
from analytics.risk.outcome import Outcome
from analytics.risk.score import weigh
from analytics.risk.verdict import Verdict

AS_OF = date(2025, 6, 30)


@pytest.fixture(scope="module")
def trained(world: pl.DataFrame) -> HazardModel:
    """The whole way from records to a checked model."""
    return train(world, AS_OF)


def test_where_features_matter_the_model_is_better_and_used(trained: HazardModel) -> None:
    verdict = trained.verdict
    assert verdict
    assert verdict.better
    assert verdict.words == "better than the base rate"
    assert trained.chosen == "hazard"
    assert verdict.brier < verdict.base_brier
    assert verdict.gain.value == pytest.approx(verdict.base_brier - verdict.brier)
    assert 0.5 < verdict.concordance.low < verdict.concordance.value < 0.75


def test_the_check_is_on_jobs_done_since_the_cut(trained: HazardModel, world: pl.DataFrame) -> None:
    verdict = trained.verdict
    assert verdict
    assert verdict.cut == date(2023, 7, 1)
    later = world.filter(pl.col("done_on") >= verdict.cut)
    assert (verdict.cracks, verdict.leak_backs) == (later.height, later["leaked_back"].sum())
    assert verdict.ratio.value == pytest.approx(verdict.leak_backs / verdict.expected)


def test_where_nothing_matters_the_base_rate_is_used(simulate: Callable[..., pl.DataFrame]) -> None:
    nothing = simulate(2500, 2, effects={}, crew=dict.fromkeys(("C-1", "C-2", "C-3"), 0.0))
    model = train(nothing, AS_OF)
    assert model.verdict
    assert model.verdict.words == "no better than the base rate"
    assert model.chosen == "base_rate"
    assert model.scaling.features == ()


def test_a_year_s_warranty_is_long_enough_for_the_check_in_any_year(world: pl.DataFrame) -> None:
    # watched 365 days each but where 29 February lies between: the check is the same, not one of those few alone
    def checked(later_days: int) -> Verdict:
        moved = world.with_columns(done_on=pl.col("done_on") + pl.duration(days=later_days))
        lasts = (pl.col("done_on").dt.offset_by("12mo") - pl.col("done_on")).dt.total_days().cast(pl.Float64)
        ended = moved.with_columns(
            leaked_back=pl.col("leaked_back") & (pl.col("watched_days") <= lasts),
            watched_days=pl.min_horizontal("watched_days", lasts),
        )
        return judge(ended, AS_OF + timedelta(days=later_days))

    with_leap_day, without = checked(0), checked(730)
    assert without.cracks == with_leap_day.cracks
    assert without.brier == pytest.approx(with_leap_day.brier, abs=2e-4)
    assert without.base_brier == pytest.approx(with_leap_day.base_brier, abs=2e-4)


def test_leak_backs_of_earlier_jobs_after_the_cut_are_not_known_to_the_check(world: pl.DataFrame) -> None:
    cut = date(2023, 7, 1)
    changed = world.with_columns(
        leaked_back=pl.col("leaked_back")
        & ((pl.col("done_on") + pl.duration(days=pl.col("watched_days").ceil()) <= cut) | (pl.col("done_on") >= cut))
    )
    assert changed["leaked_back"].sum() < world["leaked_back"].sum()
    assert judge(changed, AS_OF) == judge(world, AS_OF)


def test_too_little_to_check_uses_the_base_rate_and_says_so(world: pl.DataFrame) -> None:
    early = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 80))
    with pytest.raises(TooFewError, match="could not be checked: 0 leak-backs among the jobs done since"):
        judge(early, AS_OF)
    model = train(early, AS_OF)
    assert model.chosen == "base_rate"
    assert model.verdict is None
    assert "Until then the base rate is used." in model.notes[-1]


def test_too_little_before_the_cut_is_said(simulate: Callable[..., pl.DataFrame]) -> None:
    with pytest.raises(TooFewError, match="leak-backs were reported before"):
        judge(simulate(300, 1), AS_OF)


def _outcome(slope: float, level: float, n: int = 6000) -> Outcome:
    """Cracks all watched for two years at 5 % a year, foreseen with a slope and a level."""
    rng = np.random.default_rng(8)
    log = rng.normal(0, 0.6, n)
    born = rng.exponential(1, n) / (0.05 * np.exp(log)) * 365.25
    leaked, days = born <= 730, np.minimum(born, 730.0)
    foreseen = np.exp(log / slope) * level
    return Outcome(
        days=days,
        leaked=leaked,
        jobs=np.arange(n) // 2,
        chance=1 - np.exp(-0.05 * foreseen * 365 / 365.25),
        expected=0.05 * foreseen * days / 365.25,
        plain=0.05 * days / 365.25,
    )


def test_a_true_forecast_is_calibrated() -> None:
    verdict = weigh(_outcome(slope=1.0, level=1.0), 0.05, AS_OF)
    assert verdict.slope.low < 1 < verdict.slope.high
    assert verdict.ratio.low < 1 < verdict.ratio.high
    assert verdict.better


def test_risks_spread_too_far_show_a_slope_below_one() -> None:
    verdict = weigh(_outcome(slope=0.5, level=1.0), 0.05, AS_OF)
    assert verdict.slope.value == pytest.approx(0.5, abs=0.08)


def test_risks_half_as_high_show_a_ratio_of_two() -> None:
    verdict = weigh(_outcome(slope=1.0, level=0.5), 0.05, AS_OF)
    assert verdict.ratio.value == pytest.approx(2.0, rel=0.1)
    assert verdict.ratio.low < 2 < verdict.ratio.high


def test_one_chance_for_all_is_no_better_than_the_base_rate() -> None:
    outcome = _outcome(slope=1.0, level=1.0)
    flat = replace(outcome, chance=np.full_like(outcome.chance, 0.05))
    verdict = weigh(flat, 0.05, AS_OF)
    assert verdict.gain.value == 0
    assert verdict.concordance.value == 0.5
    assert not verdict.better

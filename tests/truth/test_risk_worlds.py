"""Invented businesses whose true risks are known: the model finds them, says how sure it is, and knows when it cannot.

Three of each where time is short; LEAKBACK_WORLDS sets how many.
"""

import os
from dataclasses import dataclass, replace

import numpy as np
import polars as pl
import pytest

from analytics.demo import TRUTH, LogHazardRatios, Truth, true_risk, world
from analytics.demo.days import AS_OF
from analytics.errors import TooFewError
from analytics.risk import STEPS, Drift, HazardModel, Penalties, choose, cumulative, fit, risk, train
from analytics.risk.drift import drift
from analytics.risk.exposure import by_band
from analytics.risk.penalty import FEATURE_PENALTIES
from tests.worlds import follow_up

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "3"))
MANY = 50
JOBS = 5000
MONTHS = 24
PENALTIES = Penalties(features=16.0, crews=16.0)
NOTHING = Truth(
    ratios=LogHazardRatios(**dict.fromkeys(LogHazardRatios.__dataclass_fields__, 0.0)),
    crews=tuple(replace(crew, log_hazard=0.0) for crew in TRUTH.crews),
)
"""A world where no fact and no crew matters."""


@dataclass(frozen=True, eq=False)
class Known:
    """A business, what its model says of its cracks before the work, and what is true."""

    cracks: pl.DataFrame
    model: HazardModel
    said: np.ndarray
    true: np.ndarray


def known(seed: int, truth: Truth = TRUTH, jobs: int = JOBS) -> Known:
    cracks = follow_up(world(truth, seed, jobs))
    model = fit(cracks, AS_OF, choose(cracks))
    before = cracks.with_columns(pl.lit(None, pl.Boolean).alias(step) for step in STEPS)
    return Known(cracks, model, risk(model, cracks, MONTHS)["risk"].to_numpy(), true_risk(before, MONTHS, truth))


def lift(said: np.ndarray, true: np.ndarray) -> float:
    """The chance that of a crack that leaks and one that holds the first was said the riskier, above a half."""
    order = np.argsort(said)
    leaks, holds = true[order], 1 - true[order]
    below = np.cumsum(holds) - holds
    pairs = leaks.sum() * holds.sum() - (leaks * holds).sum()
    return float((leaks * below).sum() / pairs) - 0.5


@pytest.fixture(scope="module")
def businesses() -> list[Known]:
    return [known(seed) for seed in range(1, WORLDS + 1)]


def test_mean_risks_are_the_true_ones(businesses: list[Known]) -> None:
    ratios = [one.said.mean() / one.true.mean() for one in businesses]
    assert 0.93 <= np.mean(ratios) <= 1.07, ratios


def test_risks_are_spread_as_the_true_ones_are(businesses: list[Known]) -> None:
    def log(chance: np.ndarray) -> np.ndarray:
        hazard: np.ndarray = np.log(-np.log1p(-chance))
        return hazard

    slopes = [np.polyfit(log(one.said), log(one.true), 1)[0] for one in businesses]
    assert 0.85 <= np.mean(slopes) <= 1.15, slopes


def test_most_of_what_can_be_ranked_is_ranked(businesses: list[Known]) -> None:
    shares = [lift(one.said, one.true) / lift(one.true, one.true) for one in businesses]
    assert np.mean(shares) >= 0.88, shares


def test_expected_is_observed_in_every_age_band(businesses: list[Known]) -> None:
    for one in businesses:
        seen = by_band(one.cracks, one.model.edges_days)[1].sum(axis=0)
        ends = [*one.model.edges_days[1:], np.inf]
        for band, leaked in enumerate(seen):
            start = float(one.model.edges_days[band])
            watched = one.cracks.filter(pl.col("watched_days") > start)
            until = watched["watched_days"].clip(upper_bound=ends[band]).to_numpy()
            foretold = np.exp(cumulative(one.model, watched, start, until, STEPS).log).sum()
            assert foretold == pytest.approx(leaked, rel=0.02)


def test_intervals_of_risks_hold_the_truth(businesses: list[Known]) -> None:
    held = []
    for one in businesses:
        found = risk(one.model, one.cracks, MONTHS)
        held.append(np.mean((found["low"].to_numpy() <= one.true) & (one.true <= found["high"].to_numpy())))
    assert 0.88 <= np.mean(held) <= 0.99, held


@pytest.fixture(scope="module")
def nothing() -> list[HazardModel]:
    return [train(follow_up(world(NOTHING, seed, 3000)), AS_OF) for seed in range(1, WORLDS + 1)]


def test_where_nothing_matters_one_rate_is_used(nothing: list[HazardModel]) -> None:
    used = np.mean([model.chosen == "base_rate" for model in nothing])
    assert used >= (0.9 if WORLDS >= MANY else 0.6), used


def test_where_nothing_matters_trees_do_not_win(nothing: list[HazardModel]) -> None:
    won = [bool(m.verdict and m.verdict.challenge and m.verdict.challenge.winner == "boosted") for m in nothing]
    assert np.mean(won) <= (0.1 if WORLDS >= MANY else 0.21), won


def test_where_nothing_matters_effects_are_shrunk_hardest() -> None:
    chosen = [choose(follow_up(world(NOTHING, seed, 2000))).features for seed in range(1, WORLDS + 1)]
    assert np.median(chosen) == FEATURE_PENALTIES[-1]


@pytest.mark.parametrize("seed", range(1, WORLDS + 1))
def test_forty_jobs_are_too_few_and_it_is_said_how_many_more_would_do(seed: int) -> None:
    said = r"^(1 leak-back|(?!1 )\d+ leak-backs) among \d+ cracks watched so far: too few .* needs 50, \d+ more\.$"
    with pytest.raises(TooFewError, match=said):
        train(follow_up(world(TRUTH, seed, 40)), AS_OF)


@pytest.fixture(scope="module")
def thousands() -> list[HazardModel]:
    return [train(follow_up(world(TRUTH, seed, 1000)), AS_OF) for seed in range(1, WORLDS + 1)]


def test_a_thousand_jobs_give_a_checked_model_or_one_rate_and_why(thousands: list[HazardModel]) -> None:
    for model in thousands:
        assert model.chosen in {"hazard", "boosted", "base_rate"}
        assert model.verdict or "Until then the base rate is used." in model.notes[-1]
        if model.verdict:
            assert (model.chosen == "base_rate") != model.verdict.better


def test_a_thousand_jobs_do_not_give_risks_that_are_wild(thousands: list[HazardModel]) -> None:
    for seed, model in enumerate(thousands, 1):
        cracks = follow_up(world(TRUTH, seed, 1000))
        said = risk(model, cracks, MONTHS)
        assert 0.6 < said["risk"].to_numpy().mean() / true_risk(cracks, MONTHS).mean() < 1.5
        assert (said["high"] - said["low"]).min() > 0  # type: ignore[operator]


def changed_half_way(seed: int, later: Truth, jobs: int = 3000) -> pl.DataFrame:
    """A business that worked by TRUTH and, from the middle of its history on, by another truth."""
    half = AS_OF.replace(year=AS_OF.year - 3)
    first, then = follow_up(world(TRUTH, seed, jobs)), follow_up(world(later, seed + 1000, jobs))
    then = then.with_columns(pl.format("{}-later", name).alias(name) for name in ("crack_id", "job_id"))
    return pl.concat([first.filter(pl.col("done_on") < half), then.filter(pl.col("done_on") >= half)])


def drifts(later: Truth) -> list[Drift]:
    frames = [changed_half_way(seed, later) for seed in range(1, WORLDS + 1)]
    return [found for frame in frames if (found := drift(frame, AS_OF, PENALTIES))]


def test_crews_that_stop_drying_half_way_are_noticed() -> None:
    sloppy = replace(TRUTH, crews=tuple(replace(crew, dries=0.2) for crew in TRUTH.crews))
    for found in drifts(sloppy):
        named = {one.measurement: one for one in found.moved if one.stands}
        assert "dried" in named
        assert found.moved[0].measurement == "dried"
        assert found.words.startswith(("the work has changed", "leak-backs of the latest year"))


def test_a_resin_gone_bad_of_which_nothing_is_recorded_is_noticed_by_the_leak_backs() -> None:
    bad = replace(TRUTH, baseline_per_year=tuple(3 * rate for rate in TRUTH.baseline_per_year))
    found = drifts(bad)
    assert np.mean([one.ratio.value > 1 for one in found]) == 1
    assert np.mean([one.ratio.low > 1 for one in found]) >= 0.6, [one.ratio for one in found]


def test_a_business_that_goes_on_as_before_is_left_in_peace() -> None:
    found = drifts(TRUTH)
    named = np.mean([any(one.stands for one in each.moved) for each in found])
    off = np.mean([not each.ratio.low <= 1 <= each.ratio.high for each in found])
    assert named <= (0.12 if WORLDS >= MANY else 0.4), named
    assert off <= (0.12 if WORLDS >= MANY else 0.4), off

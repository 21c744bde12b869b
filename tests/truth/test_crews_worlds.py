"""Invented businesses whose crews are known: level crews are left in peace, the bad one is found.

Six of each where time is short; LEAKBACK_WORLDS sets how many.
"""

import math
import os
from dataclasses import replace

import polars as pl
import pytest

from analytics.answers.crews import Crews, judge
from analytics.demo import Crew, Truth, world
from analytics.demo.days import AS_OF
from analytics.risk import Penalties
from tests.worlds import follow_up

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "6"))
MANY = 60
JOBS = 2640
"""About 330 cracks a crew."""
WORSE = 2.5
PENALTIES = Penalties(features=16.0, crews=16.0)
CREWS = tuple(Crew(f"C{n:02}", "East" if n <= 6 else "West", 10) for n in range(1, 13))
LEVEL = Truth(crews=CREWS)
BAD = "C05"
ONE_BAD = Truth(crews=tuple(replace(c, log_hazard=math.log(WORSE)) if c.code == BAD else c for c in CREWS))
GOOD = "C03"
FEW_JOBS = 1440
"""About 360 cracks a crew, of six: one of them weighs much in what is expected of the others."""
FEW_BAD = Truth(
    crews=tuple(
        Crew(f"C{n:02}", "East" if n <= 3 else "West", 10, math.log(3 if n == 5 else 1))
        for n in range(1, 7)  # BAD
    )
)
FEW_BAD_AND_GOOD = Truth(
    crews=tuple(replace(c, log_hazard=-math.log(3)) if c.code == GOOD else c for c in FEW_BAD.crews)
)
BAD_PRACTICE = Truth(
    crews=tuple(replace(c, dries=0.15, spaces_wide=0.6, tests=0.3) if c.code == BAD else c for c in CREWS)
)


def _as_worked(crew: Crew, truth: Truth = LEVEL) -> float:
    """Times as many leak-backs as with none of the practices: a mix of hazards for each."""
    ratios = truth.ratios
    habits = (
        (crew.spaces_wide, ratios.ports_wide),
        (crew.dries, ratios.dried),
        (crew.tests, ratios.water_tested),
        (crew.cleans, ratios.cleaned),
    )
    return math.prod(1 + share * math.expm1(log) for share, log in habits)


def judged(truth: Truth, seed: int, jobs: int = JOBS) -> Crews:
    return judge(follow_up(world(truth, seed, jobs)), AS_OF, PENALTIES)


def rows_of(truth: Truth, jobs: int = JOBS) -> pl.DataFrame:
    """A row a crew and world."""
    return pl.concat(judged(truth, seed, jobs).rows.with_columns(seed=pl.lit(seed)) for seed in range(1, WORLDS + 1))


@pytest.fixture(scope="module")
def level() -> pl.DataFrame:
    return rows_of(LEVEL)


@pytest.fixture(scope="module")
def one_bad() -> pl.DataFrame:
    return rows_of(ONE_BAD)


def test_level_crews_are_left_in_peace(level: pl.DataFrame) -> None:
    share = level.filter(pl.col("signal") != "none").height / level.height
    assert share <= (0.02 if WORLDS >= MANY else 0.045), level.filter(pl.col("signal") != "none")


def test_level_crews_read_1_on_average(level: pl.DataFrame) -> None:
    seen, expected = level["observed"].to_numpy().sum(), level["expected"].to_numpy().sum()
    assert seen / expected == pytest.approx(1, abs=0.03)


def test_intervals_of_level_crews_hold_1(level: pl.DataFrame) -> None:
    held = level.filter((pl.col("low") <= 1) & (pl.col("high") >= 1)).height / level.height
    assert held >= (0.93 if WORLDS >= MANY else 0.85)


def test_the_bad_crew_is_found(one_bad: pl.DataFrame) -> None:
    bad = one_bad.filter(pl.col("crew_id") == BAD)
    found = bad.filter(pl.col("signal") == "high").height / bad.height
    assert found >= (0.9 if WORLDS >= MANY else 0.8), bad


def test_the_bad_crews_ratio_is_the_true_one(one_bad: pl.DataFrame) -> None:
    bad = one_bad.filter(pl.col("crew_id") == BAD)
    ratio = bad["observed"].to_numpy().sum() / bad["expected"].to_numpy().sum()
    assert ratio == pytest.approx(WORSE, rel=0.08 if WORLDS >= MANY else 0.2)


def test_beside_a_bad_crew_level_ones_are_not_blamed(one_bad: pl.DataFrame) -> None:
    level = one_bad.filter(pl.col("crew_id") != BAD)
    assert level.filter(pl.col("signal") == "high").height / level.height <= (0.005 if WORLDS >= MANY else 0.02)
    assert level.filter(pl.col("signal") == "low").height / level.height <= (0.01 if WORLDS >= MANY else 0.04)


def test_of_few_crews_level_ones_beside_a_bad_one_are_not_praised() -> None:
    """Held against the bad crew too, one in ten of them is low; without it their ratio is 1."""
    few = rows_of(FEW_BAD, FEW_JOBS).filter(pl.col("crew_id") != BAD)
    assert few.filter(pl.col("signal") == "low").height / few.height <= (0.01 if WORLDS >= MANY else 0.04)
    told = few.filter(pl.col("ratio_without").is_not_null())
    beside = told["observed"].to_numpy().sum() / told["expected"].to_numpy().sum()
    assert beside < 0.85
    assert told["observed"].to_numpy().sum() / (told["observed"] / told["ratio_without"]).sum() == pytest.approx(
        1, abs=0.04 if WORLDS >= MANY else 0.15
    )


def test_a_good_crew_beside_a_bad_one_is_found() -> None:
    few = rows_of(FEW_BAD_AND_GOOD, FEW_JOBS)
    good = few.filter(pl.col("crew_id") == GOOD)
    assert good.filter(pl.col("signal") == "low").height / good.height >= (0.5 if WORLDS >= MANY else 0.3)


def test_bad_practice_is_told_from_a_bad_crew() -> None:
    """A crew that is bad by its habits alone: taking them into account brings it most of the way back to 1."""
    assert BAD_PRACTICE.crews[4].code == BAD
    crews = [judged(BAD_PRACTICE, seed).rows.row(by_predicate=pl.col("crew_id") == BAD, named=True) for seed in SEEDS]
    logs = [(math.log(row["ratio"]), math.log(row["after_practice"])) for row in crews]
    before, after = (sum(log[place] for log in logs) / len(logs) for place in (0, 1))
    true = math.log(_as_worked(BAD_PRACTICE.crews[4]) / _as_worked(LEVEL.crews[0]))
    assert before == pytest.approx(true, abs=0.1 if WORLDS >= MANY else 0.3)
    assert after < 0.6 * before


SEEDS = range(1, WORLDS + 1)

"""Invented businesses whose future is known: the reserve holds what is still to come.

Five of them where time is short; LEAKBACK_WORLDS sets how many.
"""

import os

import polars as pl
import pytest

from analytics.answers import reserving
from analytics.contract.ages import DAYS_PER_YEAR, MONTHS_PER_YEAR
from analytics.demo import World, world
from analytics.demo.days import AS_OF
from tests.truth.stores import records_of

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "5"))
MANY = 60
LEVEL = 0.9


def to_come(invented: World, oldest_months: float) -> int:
    """Leak-backs that are still to come under warranty; a warranty without end reaches to the oldest age seen."""
    oldest_days = oldest_months * DAYS_PER_YEAR / MONTHS_PER_YEAR
    months = pl.format("{}mo", pl.col("warranty_months").fill_null(0))
    under_warranty = (pl.col("done_on").dt.offset_by(months) - pl.col("done_on")).dt.total_days()
    age = (pl.lit(AS_OF) - pl.col("done_on")).dt.total_days()
    ends = pl.when(pl.col("warranty_months").is_null()).then(oldest_days).otherwise(under_warranty)
    leaks = pl.col("leaks_after_days")
    return invented.cracks.filter((leaks > age) & (leaks <= ends)).height


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory) -> pl.DataFrame:
    """A row a world: expected, low, high, and true."""
    rows = []
    for seed in range(1, WORLDS + 1):
        invented = world(seed=seed)
        found = reserving.reserve(
            records_of(invented.tables, tmp_path_factory.mktemp("world"), invented.tables), level=LEVEL
        )
        assert found.reserve is not None
        said = found.reserve.leak_backs
        true = to_come(invented, found.oldest_months)
        rows.append({"seed": seed, "expected": said.value, "low": said.low, "high": said.high, "true": float(true)})
    return pl.DataFrame(rows)


def test_the_interval_holds_what_comes(outcomes: pl.DataFrame) -> None:
    held = outcomes.filter((pl.col("low") <= pl.col("true")) & (pl.col("true") <= pl.col("high"))).height
    share = held / WORLDS
    if WORLDS >= MANY:
        assert 0.85 <= share <= 0.95, outcomes
    else:
        assert share >= 0.6, outcomes


def test_the_expected_number_is_right_on_average(outcomes: pl.DataFrame) -> None:
    ratio = outcomes["expected"].to_numpy().sum() / outcomes["true"].to_numpy().sum()
    slack = 0.08 if WORLDS >= MANY else 0.15
    assert 1 - slack <= ratio <= 1 + slack, outcomes

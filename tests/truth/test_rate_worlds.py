"""Invented businesses, loaded like any other: 90 % intervals of their rates hold the truth nine times in ten.

Eight segments a business; eight businesses where time is short, LEAKBACK_WORLDS sets how many (50 make 400 segments).
"""

import os
from pathlib import Path

import polars as pl
import pytest

from analytics import metrics
from analytics.contract.dimensions import dimensions
from analytics.demo import World, true_risk, world
from tests.truth.stores import records_of
from tests.worlds import season_of

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "8"))
ENOUGH = 50
MONTHS, LEVEL = 24, 0.9
BY = ["resin", "season"]
RATE = metrics.metric("leak_back_rate")


def true_rates(invented: World) -> pl.DataFrame:
    """The mean true chance of leaking back within 24 months, by resin and season: resin, season, true."""
    cracks = invented.cracks.with_columns(
        season=season_of("done_on"), risk=pl.Series(true_risk(invented.cracks, MONTHS))
    )
    return cracks.group_by(BY).agg(true=pl.col("risk").mean())


@pytest.fixture(scope="module")
def segments(tmp_path_factory: pytest.TempPathFactory) -> pl.DataFrame:
    """A row a segment and business: value, low, high, true."""
    found = []
    for seed in range(1, WORLDS + 1):
        invented = world(seed=seed)
        records = records_of(invented.tables, Path(tmp_path_factory.mktemp("world")))
        rates = metrics.measure(
            records.ask, metrics.metric("leak_back_rate"), dimensions(BY), months=MONTHS, level=LEVEL
        )
        found.append(rates.rows.join(true_rates(invented), on=BY).with_columns(seed=pl.lit(seed)))
    return pl.concat(found)


def test_every_segment_has_a_rate(segments: pl.DataFrame) -> None:
    assert segments.height == 8 * WORLDS
    assert segments["value"].null_count() == 0


def test_the_intervals_hold_the_truth_nine_times_in_ten(segments: pl.DataFrame) -> None:
    held = segments.filter(pl.col("true").is_between("low", "high")).height / segments.height
    least, most = (0.87, 0.93) if WORLDS >= ENOUGH else (0.8, 0.98)
    assert least <= held <= most, held


def test_neither_end_is_missed_much_oftener_than_the_other(segments: pl.DataFrame) -> None:
    under = segments.filter(pl.col("true") < pl.col("low")).height / segments.height
    over = segments.filter(pl.col("true") > pl.col("high")).height / segments.height
    assert max(under, over) <= (0.085 if WORLDS >= ENOUGH else 0.16), (under, over)


def test_rates_are_right_on_average(segments: pl.DataFrame) -> None:
    off = segments.select((pl.col("value") - pl.col("true")).mean() / pl.col("true").mean()).item()
    assert abs(off) < (0.03 if WORLDS >= ENOUGH else 0.07), off

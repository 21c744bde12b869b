"""The shipped business: its model's effects and its rates hold what is true of it.

Three further businesses of the same truth where time is short; LEAKBACK_WORLDS sets how many.
"""

import os
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from analytics import metrics, risk
from analytics.answers import comparing
from analytics.answers.records import Records
from analytics.contract.dimensions import dimensions
from analytics.demo import TRUTH, World, true_risk, world
from analytics.demo.business import SEED
from analytics.demo.days import AS_OF
from tests.worlds import follow_up, season_of

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "3"))
MANY = 50
SEEDS = (SEED, *range(501, 501 + WORLDS))
RATIOS = TRUTH.ratios
NAMED = {
    "log_width": RATIOS.log_width * np.log(2),
    "water_damp": RATIOS.water_damp,
    "water_seeping": RATIOS.water_seeping,
    "water_running": RATIOS.water_running,
    "movement_seasonal": RATIOS.movement_seasonal,
    "wide_spacing": RATIOS.ports_wide,
    "epoxy_on_wet": RATIOS.epoxy_on_wet,
}
"""The model's facts, and what each truly adds to the log hazard (a doubling, for the width)."""


@pytest.fixture(scope="module")
def demo() -> World:
    return world()


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def effects() -> pl.DataFrame:
    """A row a fact and business: name, log, low, high, true."""
    rows = []
    for seed in SEEDS:
        ratios = risk.hazard_ratios(risk.fit_lightly(follow_up(world(seed=seed)), AS_OF))
        rows.append(ratios.filter(pl.col("name").is_in(list(NAMED))).with_columns(seed=pl.lit(seed)))
    return pl.concat(rows).with_columns(
        pl.col("ratio", "low", "high").log(), true=pl.col("name").replace_strict(NAMED, return_dtype=pl.Float64)
    )


def test_effects_have_the_right_sign(effects: pl.DataFrame) -> None:
    right = effects.group_by("name").agg((pl.col("ratio") > 0).mean())
    assert (right["ratio"] >= (0.85 if WORLDS >= MANY else 0.75)).all(), right
    strong = effects.filter(pl.col("name").is_in(["log_width", "water_running", "water_seeping"]))
    assert (strong["ratio"] > 0).all()


def test_95_percent_intervals_of_effects_hold_the_truth(effects: pl.DataFrame) -> None:
    held = effects.select(pl.col("true").is_between("low", "high").mean()).item()
    assert (0.92 if WORLDS >= MANY else 0.82) <= held, effects.filter(~pl.col("true").is_between("low", "high"))


def test_effects_are_right_on_average(effects: pl.DataFrame) -> None:
    off = effects.group_by("name").agg(off=(pl.col("ratio") - pl.col("true")).mean(), true=pl.col("true").first())
    assert (off["off"].abs() < (0.12 if WORLDS >= MANY else 0.35)).all(), off


def test_the_demo_s_own_effects_hold_the_truth(effects: pl.DataFrame) -> None:
    own = effects.filter(seed=SEED)
    assert own.height == len(NAMED)
    assert (own["ratio"] > 0).all()
    assert own.filter(pl.col("true").is_between("low", "high")).height >= len(NAMED) - 1, own


def test_the_demo_s_rates_by_resin_and_season_hold_the_truth(demo: World, records: Records) -> None:
    by = ["resin", "season"]
    rates = metrics.measure(records.ask, metrics.metric("leak_back_rate"), dimensions(by), months=24).rows
    cracks = demo.cracks.with_columns(season=season_of("done_on"), true=pl.Series(true_risk(demo.cracks, 24)))
    both = rates.join(cracks.group_by(by).agg(pl.col("true").mean()), on=by)
    assert both.height == 8
    assert both.filter(pl.col("true").is_between("low", "high")).height >= 7, both


def test_the_demo_s_resins_on_the_same_cracks_are_as_they_truly_are(demo: World, records: Records) -> None:
    found = comparing.compare(records, "resin")
    rows = {row["choice"]: row for row in found.rows.to_dicts()}
    for resin, row in rows.items():
        true = true_risk(demo.cracks.with_columns(resin=pl.lit(resin)), 24).mean()
        assert row["low"] <= true <= row["high"]
    assert rows["urethane_foam"]["crude"] > rows["epoxy"]["crude"]
    assert rows["urethane_foam"]["high"] < rows["epoxy"]["low"]


def test_the_demo_s_seasons_do_nothing_on_the_same_cracks(records: Records) -> None:
    contrasts = comparing.compare(records, "season").contrasts
    assert contrasts.filter(pl.lit(1.0).is_between("ratio_low", "ratio_high")).height == 4

"""What the work on each crack takes, what the office quotes for it, and whether the customer says yes."""

import numpy as np
import polars as pl

from analytics.contract.ages import MINUTES_PER_HOUR
from analytics.demo.arrays import Flags, Numbers
from analytics.demo.rates import costs_by_day
from analytics.demo.truth import REFERENCE_WIDTH_MM, Truth

TAKES = {"epoxy": 1.3, "urethane_foam": 0.9}
"""Litres used per litre of void: epoxy is lost behind the wall, foam grows in it."""
WIDER_TAKE = 0.12
"""Power of the width over 0.5 mm by which the take grows: more runs out at the back of a wider crack."""
LITRES_SPREAD, MINUTES_SPREAD = 0.25, 0.18
BEHIND_THE_WALL_SHARE = 0.004
"""Cracks with an empty space behind the wall, which swallows several times the void."""
WATER_MINUTES = {"dry": 0.0, "damp": 6.0, "seeping": 18.0, "running": 18.0}
ACCESS_MINUTES = {"open": 1.0, "finished": 1.15, "tight": 1.28}
SEAL_KG_PER_METRE = 0.45
MARGIN = 0.42
PRICE_SPREAD = 0.12
PRICE_STEP = 5
CHANGED_SHARE, CHANGED_SPREAD = 0.12, 0.05
"""Of the prices charged, those that differ from the quote, and by how much."""

_VOID_LITRES = (
    pl.col("width_mm").fill_null(REFERENCE_WIDTH_MM) * pl.col("wall_thickness_mm") * pl.col("length_m") / 1000
)


def with_expected_work(cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with port_count, expected_litres and expected_minutes of an average crew.

    Ports stand at both ends and nowhere further apart than their spacing; counted in whole millimetres.
    """
    length_mm = (pl.col("length_m") * 1000).round().cast(pl.Int64)
    gaps = -((-length_mm) // pl.col("port_spacing_mm").cast(pl.Int64))
    wider = (pl.col("width_mm").fill_null(REFERENCE_WIDTH_MM) / REFERENCE_WIDTH_MM) ** WIDER_TAKE
    return cracks.with_columns(
        port_count=gaps + 1,
        expected_litres=_VOID_LITRES * wider * pl.col("resin").replace_strict(TAKES, return_dtype=pl.Float64),
    ).with_columns(
        expected_minutes=(
            30
            + 22 * pl.col("length_m")
            + 5 * pl.col("port_count")
            + pl.col("water").replace_strict(WATER_MINUTES, return_dtype=pl.Float64)
        )
        * pl.col("access").replace_strict(ACCESS_MINUTES, return_dtype=pl.Float64)
    )


def with_used(rng: np.random.Generator, truth: Truth, cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with resin_litres (0.01 L) and labour_minutes (whole) as used on the day."""
    count, crew_no = cracks.height, cracks["crew_no"].to_numpy()
    take = np.array([crew.take for crew in truth.crews])[crew_no] * rng.lognormal(0, LITRES_SPREAD, count)
    take *= np.where(rng.random(count) < BEHIND_THE_WALL_SHARE, rng.uniform(4, 9, count), 1)
    pace = np.array([crew.pace for crew in truth.crews])[crew_no] * rng.lognormal(0, MINUTES_SPREAD, count)
    return cracks.with_columns(
        resin_litres=(pl.col("expected_litres") * pl.Series(take)).round(2).clip(0.01),
        labour_minutes=(pl.col("expected_minutes") * pl.Series(pace)).round(),
    )


def with_prices(rng: np.random.Generator, quotes: pl.DataFrame, cracks: pl.DataFrame) -> pl.DataFrame:
    """``quotes`` with price_quoted (to 5), price_charged (were it done) and the log of price over target."""
    work = cracks.group_by("job_id").agg(
        pl.col("expected_minutes", "port_count").sum(),
        (pl.col("length_m").sum() * SEAL_KG_PER_METRE).alias("seal"),
        pl.col("expected_litres").filter(pl.col("resin") == "epoxy").sum().alias("epoxy"),
        pl.col("expected_litres").filter(pl.col("resin") == "urethane_foam").sum().alias("urethane_foam"),
    )
    # Sorted already, by day quoted, and a left join keeps that order.
    priced = quotes.join(work, on="job_id", how="left", maintain_order="left").join_asof(
        costs_by_day(), left_on="quoted_on", right_on="effective_on"
    )
    cost = (
        pl.col("expected_minutes") / MINUTES_PER_HOUR * pl.col("labour_hour")
        + pl.col("travel_minutes").fill_null(0) / MINUTES_PER_HOUR * pl.col("travel_hour")
        + pl.col("epoxy") * pl.col("epoxy_litre")
        + pl.col("urethane_foam") * pl.col("urethane_foam_litre")
        + pl.col("port_count") * pl.col("port_each")
        + pl.col("seal") * pl.col("seal_kg")
    )
    target = priced.select(cost / (1 - MARGIN)).to_series().to_numpy()
    log_ratio = rng.normal(0, PRICE_SPREAD, quotes.height)
    quoted = np.rint(target * np.exp(log_ratio) / PRICE_STEP) * PRICE_STEP
    changed = np.where(rng.random(quotes.height) < CHANGED_SHARE, rng.normal(1, CHANGED_SPREAD, quotes.height), 1.0)
    return quotes.with_columns(
        pl.Series("price_quoted", quoted), pl.Series("price_charged", (quoted * changed).round(2)), log_ratio=log_ratio
    )


def won(rng: np.random.Generator, truth: Truth, log_ratio: Numbers) -> Flags:
    """Whether each quote was accepted: the dearer against its target, the less often."""
    return rng.random(len(log_ratio)) < 1 / (1 + np.exp(-(truth.win_intercept + truth.win_slope * log_ratio)))

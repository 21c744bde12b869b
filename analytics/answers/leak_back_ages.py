"""Leak-backs by the age of the repair and the season it was done in, for the time cracks were watched at each age."""

from collections.abc import Mapping
from itertools import pairwise

import polars as pl

from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.contract.ages import horizon_days
from analytics.contract.bounds import USUAL_LEVEL
from analytics.contract.dimensions import NOT_RECORDED, Dimension
from analytics.contract.seasons import SEASONS
from analytics.risk.exposure import by_band
from analytics.stats.intervals import garwood

EDGES_MONTHS = (0, 3, 6, 12, 24, 36, 60)
FEWEST_YEARS = 30.0
"""Crack-years watched; with fewer, a rate a year would be chance alone."""
PER = 100


def by_age_and_season(records: Records, only: Mapping[Dimension, str] | None = None) -> pl.DataFrame:
    """One row a season and age: season, band, age (``3 to 6``), leak_backs, years, value, low, high.

    ``years``: crack-years watched at that age; ``value``: leak-backs per 100 crack-years with its exact Poisson
    interval (Garwood 1936), null under ``FEWEST_YEARS``. In the order of seasons, then ages.
    """
    return _by_age_and_season(records, tuple((only or {}).items()))


@remembered
def _by_age_and_season(records: Records, only: tuple[tuple[Dimension, str], ...]) -> pl.DataFrame:
    columns = (dimension.column for dimension, _ in only)
    facts = records.ask("follow_up", read=("season", "watched_days", "leaked_back", *columns))
    for dimension, value in only:
        facts = facts.filter(pl.col(dimension.column).cast(pl.String).fill_null(NOT_RECORDED) == value)
    edges = [horizon_days(months) for months in EDGES_MONTHS]
    years, leaked = by_band(facts, edges)
    ages = [f"{first} to {last}" for first, last in pairwise(EDGES_MONTHS)]
    rows = (
        pl.concat(
            facts.select(
                "season", band=pl.lit(band), years=pl.Series(years[:, band]), leaked=pl.Series(leaked[:, band])
            )
            for band in range(len(ages))
        )
        .filter(pl.col("years") > 0)
        .group_by("season", "band")
        .agg(leak_backs=pl.col("leaked").sum().cast(pl.Int64), years=pl.col("years").sum())
    )
    low, high = garwood(rows["leak_backs"].to_numpy(), USUAL_LEVEL)
    enough = pl.col("years") >= FEWEST_YEARS
    return (
        rows.with_columns(value=pl.col("leak_backs"), low=pl.Series(low), high=pl.Series(high))
        .with_columns(
            pl.when(enough).then(pl.col(key) * PER / pl.col("years")).alias(key) for key in ("value", "low", "high")
        )
        .with_columns(
            age=pl.col("band").replace_strict(dict(enumerate(ages)), return_dtype=pl.String),
            order=pl.col("season").replace_strict({s: i for i, s in enumerate(SEASONS)}, default=len(SEASONS)),
        )
        .sort("order", "band")
        .select("season", "band", "age", "leak_backs", "years", "value", "low", "high")
    )

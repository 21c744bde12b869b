"""The price book: what a metre of each kind of crack costs, should be sold for, and was sold for."""

from collections.abc import Sequence
from decimal import Decimal

import numpy as np
import polars as pl

from analytics.contract.bounds import FEWEST_JOBS
from analytics.contract.dimensions import NOT_RECORDED, Dimension
from analytics.decisions.crack_costs import MATERIAL, PARTS
from analytics.metrics import TOO_FEW_JOBS, ratios
from analytics.stats.intervals import t_reach

BELOW = ("yes", "perhaps", "no")
"""Whether a kind of work is sold below its floor, the whole interval or only its middle lying under 0."""
SOLD = "sold_floor"


def price_book(
    cracks: pl.DataFrame, by: Sequence[Dimension], margin: Decimal | None, level: float, leak_back_error: pl.DataFrame
) -> pl.DataFrame:
    """A row a kind of crack, those sold below their floor first.

    ``cracks`` as from ``with_charge``, with the dimensions' columns. ``leak_back_error`` has, a row a kind, the
    relative variance of its leak-back cost: what the hazards and the cost of a leak-back leave open (column
    relative_variance). Every amount is in money per metre: total over total, the error taken between jobs.

    Columns: the dimensions' names; cracks, jobs, metres; ``X_per_metre``, ``X_low``, ``X_high`` with X material, each
    part, cost, leak_back_cost, floor, target, charged and left (charged less floor); below; note. All null with fewer
    than FEWEST_JOBS jobs, and the note says so.
    """
    kinds = segmented(cracks, by)
    keys = [d.name for d in by] or ["all"]
    kinds = kinds.with_columns(
        pl.sum_horizontal((f"{part}_cost" for part in MATERIAL), ignore_nulls=False).alias("material")
    )
    columns = {"material": "material", **{part: f"{part}_cost" for part in PARTS}, "cost": "direct"}
    jobs = _by_job(kinds, keys, [*columns.values(), "leak_back", "floor", "charged", "left"])
    rows = kinds.group_by(keys).agg(metres=pl.col("length_m").sum())
    sure = rows.select(keys).with_columns(relative_variance=pl.lit(0.0))
    leaks = leak_back_error.join(_share(kinds, keys), on=keys)
    floors = leaks.with_columns(pl.col("relative_variance") * pl.col("share") ** 2)
    found = [_per_metre(jobs, keys, name, column, sure, level) for name, column in columns.items()]
    found += [
        _per_metre(jobs, keys, "leak_back_cost", "leak_back", leaks, level),
        _per_metre(jobs, keys, "floor", "floor", floors, level).pipe(_with_target, margin),
        _per_metre(jobs, keys, "charged", "charged", sure, level),
        _left(jobs, keys, floors, level),
    ]
    counts = _totals(jobs, keys, "direct").select(*keys, "cracks", "jobs")
    for frame in [counts, *found]:
        rows = rows.join(frame, on=keys, how="left")
    noted = rows.with_columns(note=pl.when(pl.col("cost_per_metre").is_null()).then(TOO_FEW_JOBS))
    return noted.with_columns(pl.col("cracks", "jobs").fill_null(0)).pipe(_ordered, by).drop("all", strict=False)


def segmented(cracks: pl.DataFrame, by: Sequence[Dimension]) -> pl.DataFrame:
    """``cracks`` with the dimensions' values under their names, or all of one kind."""
    values = [pl.col(d.column).cast(pl.String).fill_null(NOT_RECORDED).alias(d.name) for d in by]
    return cracks.with_columns(values or [pl.lit("all cracks").alias("all")])


def _by_job(kinds: pl.DataFrame, keys: list[str], columns: Sequence[str]) -> pl.DataFrame:
    """Each job's part of a kind: of every column its total, and the metres and cracks that it is known of.

    ``sold_floor`` is the floor of what has been charged for.
    """
    columns = [*columns, SOLD]
    sold = kinds.with_columns(pl.when(pl.col("charged").is_not_null()).then("floor").alias(SOLD))
    return sold.group_by(*keys, "job_id").agg(
        part
        for column in columns
        for part in (
            pl.col(column).sum().alias(f"{column}_top"),
            pl.col("length_m").filter(pl.col(column).is_not_null()).sum().alias(f"{column}_bottom"),
            pl.col(column).count().alias(f"{column}_cracks"),
        )
    )


def _totals(jobs: pl.DataFrame, keys: list[str], column: str) -> pl.DataFrame:
    """What the ratio estimator needs of money over metres, a row a kind."""
    top, bottom, cracks = (pl.col(f"{column}_{part}") for part in ("top", "bottom", "cracks"))
    return (
        jobs.filter(cracks > 0)
        .group_by(keys)
        .agg(
            cracks=cracks.sum().cast(pl.Int64),
            jobs=pl.len().cast(pl.Int64),
            top=top.sum(),
            bottom=bottom.sum(),
            squared_errors=((top - top.sum() / bottom.sum() * bottom) ** 2).sum(),
        )
    )


def _with_error(totals: pl.DataFrame, keys: list[str], relative_variance: pl.DataFrame) -> pl.DataFrame:
    """The squared errors, enlarged by what is not between jobs; ``ratios`` scales them by jobs / (jobs - 1)."""
    jobs = pl.col("jobs")
    more = pl.col("relative_variance").fill_null(0.0) * pl.col("scale") ** 2 * (jobs - 1) / jobs
    return (
        totals.join(relative_variance.select(*keys, "relative_variance"), on=keys, how="left")
        .with_columns(squared_errors=pl.col("squared_errors") + more)
        .drop("relative_variance")
    )


def _per_metre(
    jobs: pl.DataFrame, keys: list[str], name: str, column: str, relative_variance: pl.DataFrame, level: float
) -> pl.DataFrame:
    totals = _totals(jobs, keys, column).with_columns(scale=pl.col("top"))
    found = ratios(_with_error(totals, keys, relative_variance), level)
    nothing = (pl.col("scale") == 0) & (pl.col("jobs") >= FEWEST_JOBS)
    told = found.with_columns(pl.when(nothing).then(0.0).otherwise(pl.col("value", "low", "high")).name.keep())
    return told.select(*keys, pl.col("value").alias(f"{name}_per_metre"), pl.col("low", "high").name.prefix(f"{name}_"))


def _with_target(floors: pl.DataFrame, margin: Decimal | None) -> pl.DataFrame:
    """The price of which the margin is left above the floor."""
    scale = None if margin is None else 1 / (1 - float(margin))
    names = {"floor_per_metre": "target_per_metre", "floor_low": "target_low", "floor_high": "target_high"}
    return floors.with_columns(
        (pl.lit(None, pl.Float64) if scale is None else pl.col(old) * scale).alias(new) for old, new in names.items()
    )


def _share(kinds: pl.DataFrame, keys: list[str]) -> pl.DataFrame:
    """The leak-backs' share of each kind's floor."""
    return kinds.group_by(keys).agg(share=(pl.col("leak_back").sum() / pl.col("floor").sum()).fill_nan(0.0))


def _left(jobs: pl.DataFrame, keys: list[str], floors: pl.DataFrame, level: float) -> pl.DataFrame:
    """What is left of the charge above the floor, per metre; it may be below 0, so its interval is a plain one."""
    floor = _totals(jobs, keys, SOLD).select(*keys, scale="top")
    totals = _with_error(_totals(jobs, keys, "left").join(floor, on=keys), keys, floors)
    count = totals["jobs"].to_numpy().astype(np.float64)
    freedom = np.maximum(count - 1, 1)
    error = np.sqrt(totals["squared_errors"].to_numpy() * count / freedom) / totals["bottom"].to_numpy()
    enough = (count >= FEWEST_JOBS) & np.isfinite(error)
    value = np.where(enough, totals["top"].to_numpy() / totals["bottom"].to_numpy(), np.nan)
    reach = t_reach(level, freedom) * error
    below = np.select([value + reach < 0, value < 0, value >= 0], BELOW, default="")
    ends = {"left_per_metre": value, "left_low": value - reach, "left_high": value + reach}
    found = totals.select(keys).with_columns(
        **{name: pl.Series(numbers) for name, numbers in ends.items()}, below=pl.Series(below)
    )
    return found.with_columns(pl.col(*ends).fill_nan(None), below=pl.col("below").replace("", None))


def _ordered(rows: pl.DataFrame, by: Sequence[Dimension]) -> pl.DataFrame:
    """Those sold below their floor first, the worst of them first; those too few to say last, in the kinds' order."""
    rank = pl.col("below").replace_strict({word: place for place, word in enumerate(BELOW)}, default=len(BELOW))
    ranks = [
        pl.col(d.name)
        .replace_strict(
            {value: place for place, value in enumerate(sorted(rows[d.name].unique(), key=d.rank))},
            return_dtype=pl.Int64,
        )
        .alias(f"rank_{d.name}")
        for d in by
    ]
    placed = rows.with_columns(rank.alias("rank"), *ranks)
    order = ["rank", "left_per_metre", *(f"rank_{d.name}" for d in by)]
    return placed.sort(order, nulls_last=True).drop(order[:1] + order[2:])

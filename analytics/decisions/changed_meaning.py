"""Columns whose middle value jumped from one year to the next by more than the work itself is likely to change.

A unit changed without a word (litres to gallons, minutes to hours) shows as a factor of the median; a temperature as
a distance. Every pair of years of every column is tried, so the findings are held to a false discovery rate.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import polars as pl

from analytics.contract.bounds import USUAL_LEVEL
from analytics.stats.intervals import normal_reach
from analytics.stats.medians import Middle, beyond, middle
from analytics.stats.multiplicity import FALSE_DISCOVERIES, adjusted

FACTOR = 1.5
"""Ours: a median that truly moves by no more than this is a change of the work, not of the column."""
DEGREES = 10.0
"""The same for a temperature, °C."""
LEAST_JOBS = 20
IN_DEGREES = frozenset({"wall_temp_c"})


@dataclass(frozen=True)
class Jump:
    """A column's median in one year and in the next with enough jobs; ``change`` is a factor, or degrees.

    ``low`` and ``high`` hold the change at 95 %; ``p_value`` is adjusted for all that was tried.
    """

    column: str
    year_before: int
    year_after: int
    jobs_before: int
    jobs_after: int
    median_before: float
    median_after: float
    change: float
    low: float
    high: float
    p_value: float


def jumps(job_means: pl.DataFrame) -> tuple[list[Jump], int]:
    """The jumps that stand, and how many pairs of years were tried.

    ``job_means``: year, and a column of numbers for each measurement, one row a job; nulls are passed over, zeros
    too where a factor is meant.
    """
    tried = [jump for column in job_means.columns if column != "year" for jump in _of_column(job_means, column)]
    p_values = adjusted([jump.p_value for jump in tried])
    kept = [replace(jump, p_value=float(p)) for jump, p in zip(tried, p_values, strict=True) if p <= FALSE_DISCOVERIES]
    return sorted(kept, key=lambda jump: (jump.p_value, jump.column, jump.year_after)), len(tried)


def _of_column(job_means: pl.DataFrame, column: str) -> Iterator[Jump]:
    by_factor = column not in IN_DEGREES
    known = job_means.select("year", column).drop_nulls()
    known = known.filter(pl.col(column) > 0) if by_factor else known
    value = pl.col(column).log() if by_factor else pl.col(column)
    years = known.select("year", value).sort("year").partition_by("year", as_dict=True, maintain_order=True)
    middles = {int(year): middle(rows[column]) for (year,), rows in years.items() if rows.height >= LEAST_JOBS}
    told = list(middles)
    for before, after in pairwise(told):
        yield _between(column, before, after, middles, by_factor=by_factor)


def _between(column: str, before: int, after: int, middles: dict[int, Middle], *, by_factor: bool) -> Jump:
    first, second = middles[before], middles[after]
    moved = second.median - first.median
    half = normal_reach(USUAL_LEVEL) * math.hypot(first.error, second.error)
    shown = np.exp if by_factor else np.asarray
    values = (first.median, second.median, moved, moved - half, moved + half)
    median_before, median_after, change, low, high = (float(shown(value)) for value in values)
    return Jump(
        column,
        year_before=before,
        year_after=after,
        jobs_before=first.size,
        jobs_after=second.size,
        median_before=median_before,
        median_after=median_after,
        change=change,
        low=low,
        high=high,
        p_value=beyond(first, second, math.log(FACTOR) if by_factor else DEGREES),
    )

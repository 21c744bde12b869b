"""One way to measure anything: value, low, high, count and a note, for any grouping."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics.contract.ages import horizon_days
from analytics.contract.bounds import FEWEST_JOBS, USUAL_LEVEL
from analytics.contract.dimensions import Dimension
from analytics.metrics.registry import Metric
from analytics.stats.intervals import log_scale
from analytics.stats.survival import LEAST_WATCHED, leak_back_interval
from analytics.store import Ask

_JOBS = pl.col("jobs").fill_null(0)
_OF_JOBS = pl.when(_JOBS == 1).then(pl.lit("job")).otherwise(pl.lit("jobs"))
TOO_FEW_JOBS = pl.format(f"only {{}} {{}}; {FEWEST_JOBS} are needed", _JOBS, _OF_JOBS)
"""The note on an estimate of fewer."""
STEADY_DIGITS = 9
"""Digits of an answer that do not depend on the order in which rows are added up."""


@dataclass(frozen=True)
class Measured:
    """A metric's answer.

    ``rows``: the groupings' columns under their names, ``cracks``, ``jobs``, ``value``, ``low``, ``high``, ``note``
    (why there is no value, else null); for a leak-back rate also ``age_months``, ``events`` and ``watched``.
    Sorted by the groupings.
    """

    metric: Metric
    by: tuple[Dimension, ...]
    level: float
    months: int | None
    rows: pl.DataFrame


def measure(
    ask: Ask,
    metric: Metric,
    by: Sequence[Dimension] = (),
    *,
    months: int = 24,
    level: float = USUAL_LEVEL,
    only: Mapping[Dimension, str] | None = None,
) -> Measured:
    """The metric for each segment of ``by``, narrowed to ``only``.

    Args:
        ask: the store's questions, as of a day.
        metric: what is measured.
        by: groupings.
        months: age at which a leak-back rate is read; other metrics take no notice of it.
        level: of the intervals, between 0 and 1.
        only: a value each narrowing column must have.
    """
    if metric.is_rate:
        rows = curves(ask, by, ages_months=(months,), level=level, only=only)
        return Measured(metric, tuple(by), level, months, rows)
    columns = {"numerator": metric.numerator, "denominator": metric.denominator}
    rows = ask("ratio", by=by, only=only, columns=columns)
    return Measured(metric, tuple(by), level, None, _named(ratios(rows, level), by))


def curves(
    ask: Ask,
    by: Sequence[Dimension] = (),
    *,
    ages_months: Sequence[int],
    level: float = USUAL_LEVEL,
    only: Mapping[Dimension, str] | None = None,
) -> pl.DataFrame:
    """The leak-back rate of each segment at each age (rows as in ``Measured``), one scan for all of them."""
    ages_days = [horizon_days(months) for months in ages_months]
    rows = ask("leak_back_rate", by=by, only=only, ages_months=list(ages_months), ages_days=ages_days)
    return _named(_rates(rows, level), by, "age_months")


def _rates(rows: pl.DataFrame, level: float) -> pl.DataFrame:
    """Product-limit rates with their intervals, widened where cracks of one job leak together."""
    variance = np.maximum(rows["greenwood"].to_numpy(), rows["clustered"].to_numpy())
    watched, events = rows["watched"].to_numpy(), rows["events"].to_numpy()
    found = leak_back_interval(rows["survival"].to_numpy(), variance, events, watched, level)
    enough = rows["jobs"].to_numpy() >= FEWEST_JOBS
    value, low, high = (np.where(enough, each, np.nan) for each in (found.value, found.low, found.high))
    still = f"still watched at {{}} months; {LEAST_WATCHED} are needed"
    none = pl.format(f"none of {{}} cracks is {still}", "cracks", "age_months")
    few = pl.format(f"only {{}} of {{}} cracks are {still}", "watched", "cracks", "age_months")
    few = pl.when(pl.col("watched") == 0).then(none).otherwise(few)
    note = pl.when(pl.col("watched") < LEAST_WATCHED).then(few).otherwise(TOO_FEW_JOBS)
    return _with_estimate(rows, value, low, high, note).drop("survival", "greenwood", "clustered")


def ratios(rows: pl.DataFrame, level: float) -> pl.DataFrame:
    """Ratios of totals with their intervals, the error taken between jobs.

    ``rows``: top, bottom, jobs and squared_errors (of the jobs' parts about the ratio), as ``ratio.sql`` has them.
    """
    jobs, top = rows["jobs"].to_numpy().astype(float), rows["top"].to_numpy()
    enough = (jobs >= FEWEST_JOBS) & (top > 0)
    ratio = np.where(enough, top / rows["bottom"].to_numpy(), np.nan)
    freedom = np.maximum(jobs - 1, 1)
    squares = np.maximum(rows["squared_errors"].to_numpy(), 0.0)  # of jobs all alike, rounding may leave less than 0
    relative_error = np.sqrt(squares * jobs / freedom) / np.where(top > 0, top, np.nan)
    low, high = log_scale(ratio, relative_error, freedom, level)
    note = pl.when(pl.col("jobs") < FEWEST_JOBS).then(TOO_FEW_JOBS).otherwise(pl.lit("the total recorded is 0"))
    return _with_estimate(rows, ratio, low, high, note).drop("top", "bottom", "squared_errors")


def _with_estimate(
    rows: pl.DataFrame, value: np.ndarray, low: np.ndarray, high: np.ndarray, note: pl.Expr
) -> pl.DataFrame:
    found = pl.DataFrame({"value": value, "low": low, "high": high}).fill_nan(None)
    estimate = found.select(pl.all().round_sig_figs(STEADY_DIGITS))
    return pl.concat([rows, estimate], how="horizontal").with_columns(
        note=pl.when(pl.col("value").is_null()).then(note).otherwise(None)
    )


def _named(rows: pl.DataFrame, by: Sequence[Dimension], *then: str) -> pl.DataFrame:
    """Rows in the groupings' own order, their columns under the groupings' names."""
    for d in by:
        ranks = {value: place for place, value in enumerate(sorted(rows[d.column].unique(), key=d.rank))}
        rows = rows.with_columns(
            pl.col(d.column).replace_strict(ranks, return_dtype=pl.Int64).alias(f"{d.column}_rank")
        )
    rows = rows.sort([f"{d.column}_rank" for d in by] + list(then)).drop(f"{d.column}_rank" for d in by)
    years = [d.column for d in by if d.column == "year"]
    return rows.with_columns(pl.col(years).cast(pl.Int64)).rename({d.column: d.name for d in by})

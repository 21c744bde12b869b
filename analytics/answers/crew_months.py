"""Leak-backs seen and expected of each crew, calendar month by calendar month."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.crossfit import CrossFit

Days = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Alike:
    """Cracks that a crew did on one day and that were watched equally long, as one.

    ``others`` foretells of each such kind (k), ``done`` (k) and ``watched`` (k) are its days.
    """

    others: CrossFit
    done: Days
    watched: Days

    @classmethod
    def of(cls, follow_up: pl.DataFrame, others: CrossFit) -> "Alike":
        """The kinds among the cracks that ``others`` was fitted to."""
        done, watched = _days(follow_up["done_on"]), follow_up["watched_days"].to_numpy()
        together, one = others.alike(watched, done)
        return cls(together, done[one], watched[one])

    def within(self, days: float) -> "Alike":
        """The same kinds, each watched for its first ``days`` only."""
        return replace(self, watched=np.minimum(self.watched, days))


def monthly(counted: pl.DataFrame, others: CrossFit, alike: Alike, as_of: date) -> pl.DataFrame:
    """crew_id, month (its first day), observed, expected, from the first job's month to that of ``as_of``.

    ``counted``: the cracks ``others`` was fitted to, with done_on, watched_days and leaked_back, and the same cracks as
    kinds. A month's expected is what its days add to the expected of every crack under watch.
    """
    first = counted.select(pl.col("done_on").min()).item()
    begins = pl.date_range(first.replace(day=1), as_of.replace(day=1), "1mo", eager=True)
    ends = _days(begins.dt.offset_by("1mo"))
    leaked = counted.filter("leaked_back")
    leaked_on = _days(leaked["done_on"]) + np.floor(leaked["watched_days"].to_numpy())
    crews, leaked_of = len(others.crews), others.places[counted["leaked_back"].to_numpy()]
    gathered = _gathered(alike, ends)
    seen = _by_month(np.searchsorted(ends, leaked_on, side="right"), leaked_of, None, len(ends), crews)
    return pl.DataFrame(
        {
            "crew_id": np.repeat(np.array(others.crews, dtype=object), len(ends)).tolist(),
            "month": np.tile(begins.to_numpy(), crews),
            "observed": np.diff(seen, axis=0).T.ravel().astype(np.int64),
            "expected": np.maximum(np.diff(gathered, axis=0), 0.0).T.ravel(),
        },
        schema={"crew_id": pl.String, "month": pl.Date, "observed": pl.Int64, "expected": pl.Float64},
    )


def _gathered(alike: Alike, ends: Days) -> NDArray[np.float64]:
    """Leak-backs expected of each crew by the end of each month (months + 1, a row of noughts first, by crews)."""
    others, done, watched, places = alike.others, alike.done, alike.watched, alike.others.places
    over = np.searchsorted(ends, done + watched, side="left")  # the first month that adds nothing any more
    begun = np.searchsorted(ends, done, side="right")
    found = _by_month(over, places, others.until(watched), len(ends), len(others.crews))
    for place, end in enumerate(ends):
        rows = np.flatnonzero((places >= 0) & (begun <= place) & (place < over))
        expected = others.until(end - done[rows], rows)
        found[place + 1] += np.bincount(places[rows], expected, minlength=len(others.crews))
    return found


def _days(dates: pl.Series) -> NDArray[np.float64]:
    """Days since 1970."""
    return dates.cast(pl.Date).to_physical().to_numpy().astype(np.float64)


def _by_month(
    month: NDArray[np.int64], crew: NDArray[np.int64], weights: NDArray[np.float64] | None, months: int, crews: int
) -> NDArray[np.float64]:
    """What has come together by the end of each month (months + 1, a row of noughts first, by crews)."""
    counts = (crew >= 0) & (month < months)
    weight = None if weights is None else weights[counts]
    found = np.bincount(month[counts] * crews + crew[counts], weight, minlength=months * crews)
    return np.vstack([np.zeros(crews), found.reshape(months, crews).cumsum(axis=0)])

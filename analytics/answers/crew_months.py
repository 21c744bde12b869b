"""Leak-backs seen and expected of each crew, calendar month by calendar month."""

from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.crossfit import CrossFit


def monthly(counted: pl.DataFrame, others: CrossFit, as_of: date) -> pl.DataFrame:
    """crew_id, month (its first day), observed, expected, from the first job's month to that of ``as_of``.

    ``counted``: the cracks ``others`` was fitted to, with done_on, watched_days and leaked_back. A month's expected is
    what its days add to the expected of every crack under watch.
    """
    first = counted.select(pl.col("done_on").min()).item()
    begins = pl.date_range(first.replace(day=1), as_of.replace(day=1), "1mo", eager=True)
    ends = _days(begins.dt.offset_by("1mo"))
    done, watched = _days(counted["done_on"]), counted["watched_days"].to_numpy()
    leaked_on = (done + np.floor(watched))[leaked := counted["leaked_back"].to_numpy()]
    crews, leaked_of = len(others.crews), others.places[leaked]
    gathered = _gathered(others, done, watched, ends)
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


def _gathered(
    others: CrossFit, done: NDArray[np.float64], watched: NDArray[np.float64], ends: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Leak-backs expected of each crew by the end of each month (months + 1, a row of noughts first, by crews).

    Cracks that a crew did on one day and that were watched equally long are one.
    """
    alike, one = others.alike(watched, done)
    done, watched, places = done[one], watched[one], alike.places
    over = np.searchsorted(ends, done + watched, side="left")  # the first month that adds nothing any more
    begun = np.searchsorted(ends, done, side="right")
    found = _by_month(over, places, alike.until(watched), len(ends), len(others.crews))
    for place, end in enumerate(ends):
        rows = np.flatnonzero((places >= 0) & (begun <= place) & (place < over))
        expected = alike.until(end - done[rows], rows)
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

"""Leak-backs seen and expected of each crew, calendar month by calendar month."""

from datetime import date

import numpy as np
import polars as pl

from analytics.risk.crossfit import CrossFit


def monthly(counted: pl.DataFrame, others: CrossFit, as_of: date) -> pl.DataFrame:
    """crew_id, month (its first day), observed, expected, from the first job's month to that of ``as_of``.

    ``counted``: the cracks ``others`` was fitted to, with done_on, watched_days and leaked_back. A month's expected is
    what its days add to the expected of every crack under watch.
    """
    first = counted.select(pl.col("done_on").min()).item()
    begins = pl.date_range(first.replace(day=1), as_of.replace(day=1), "1mo", eager=True)
    ends = begins.dt.offset_by("1mo").to_numpy().astype("datetime64[D]")
    done = counted["done_on"].to_numpy().astype("datetime64[D]")
    watched, leaked = counted["watched_days"].to_numpy(), counted["leaked_back"].to_numpy()
    leaked_on = done + np.floor(watched).astype("timedelta64[D]")
    named = others.places >= 0
    crews = len(others.crews)
    gathered = np.zeros((len(ends) + 1, crews))
    seen = np.zeros_like(gathered)
    for place, end in enumerate(ends, start=1):
        ages = np.clip((end - done).astype(np.float64), 0.0, watched)
        expected = others.until(ages)
        gathered[place] = np.bincount(others.places[named], expected[named], minlength=crews)
        seen[place] = np.bincount(others.places[named & leaked & (leaked_on < end)], minlength=crews)
    return pl.DataFrame(
        {
            "crew_id": np.repeat(np.array(others.crews, dtype=object), len(ends)).tolist(),
            "month": np.tile(begins.to_numpy(), crews),
            "observed": np.diff(seen, axis=0).T.ravel().astype(np.int64),
            "expected": np.maximum(np.diff(gathered, axis=0), 0.0).T.ravel(),
        },
        schema={"crew_id": pl.String, "month": pl.Date, "observed": pl.Int64, "expected": pl.Float64},
    )

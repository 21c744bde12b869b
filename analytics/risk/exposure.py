"""Watched time cut into age bands: one row a crack and band, with its years watched and its leak-backs."""

from collections.abc import Sequence
from datetime import date

import polars as pl

from analytics.contract.ages import DAYS_PER_YEAR, horizon_days

AGE_EDGES_MONTHS = (0, 3, 12, 24, 60)
"""Where the age bands begin; the last one has no end."""
FEWEST_IN_BAND = 5
"""A band with fewer leak-backs is joined to its neighbour: its own hazard would be chance alone."""


def age_edges_days() -> tuple[int, ...]:
    """The first day of each age band."""
    return tuple(horizon_days(months) for months in AGE_EDGES_MONTHS)


def person_periods(follow_up: pl.DataFrame, edges_days: Sequence[float], entry: str | None = None) -> pl.DataFrame:
    """One row a crack and age band it was watched in: row (its place in ``follow_up``), band, years, leaked.

    ``follow_up`` needs watched_days and leaked_back; a column ``entry`` gives the age in days at which watching
    began (0 where not given). A leak-back belongs to the band its day closes: (from, to].
    """
    bands = pl.DataFrame(
        {
            "band": range(len(edges_days)),
            "from": [float(edge) for edge in edges_days],
            "to": [*map(float, edges_days[1:]), float("inf")],
        }
    )
    begins = pl.col(entry).cast(pl.Float64) if entry else pl.lit(0.0)
    start, end = pl.max_horizontal("from", "entry"), pl.min_horizontal("to", "watched_days")
    return (
        follow_up.select("watched_days", "leaked_back", begins.alias("entry"))
        .with_row_index("row")
        .join(bands, how="cross")
        .filter(end > start)
        .select(
            "row",
            "band",
            years=(end - start) / DAYS_PER_YEAR,
            leaked=(pl.col("leaked_back") & (pl.col("watched_days") <= pl.col("to"))).cast(pl.Float64),
        )
        .sort("row", "band")
    )


def as_seen_on(follow_up: pl.DataFrame, day: date) -> pl.DataFrame:
    """What the records would have said on ``day``: later jobs gone, watching and leak-backs cut at that day."""
    known = (pl.lit(day) - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    return follow_up.filter(pl.col("done_on") < day).with_columns(
        leaked_back=pl.col("leaked_back") & (pl.col("watched_days") <= known),
        watched_days=pl.min_horizontal("watched_days", known),
    )


def seen_after(follow_up: pl.DataFrame, day: date) -> pl.DataFrame:
    """The cracks still watched after ``day``, with entry_days, their age that day (0 for later jobs)."""
    age = (pl.lit(day) - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    return follow_up.with_columns(entry_days=pl.max_horizontal(age, pl.lit(0.0))).filter(
        pl.col("watched_days") > pl.col("entry_days")
    )


def settle_bands(follow_up: pl.DataFrame) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """The age bands these records can carry, by their first day, and a sentence for each that was joined."""
    edges, months = list(age_edges_days()), list(AGE_EDGES_MONTHS)
    notes = []
    while len(edges) > 1:
        watched = dict(person_periods(follow_up, edges).group_by("band").agg(pl.col("leaked").sum()).iter_rows())
        thin = [band for band in range(len(edges)) if watched.get(band, 0) < FEWEST_IN_BAND]
        if not thin:
            break
        band = thin[-1]
        if band in watched:
            ages = f"from {months[band]} to {months[band + 1]}" if band + 1 < len(months) else f"over {months[band]}"
            notes.append(
                f"Only {watched[band]:.0f} leak-backs at ages {ages} months, fewer than {FEWEST_IN_BAND}: "
                "these ages share the hazard of those next to them."
            )
        del edges[max(band, 1)], months[max(band, 1)]
    return tuple(edges), tuple(notes)

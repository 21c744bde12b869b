"""Calendar quarters ahead of a day, and the one before it."""

from datetime import date, timedelta

import polars as pl

MOST_QUARTERS = 40
"""Quarters ahead shown one by one; what comes after them is one row."""
LATER = "later"
MONTHS_PER_QUARTER = 3
PERIOD = ("quarter", "from", "to")


def quarter_ends(as_of: date, days: int) -> list[date]:
    """The last days of the calendar quarters after ``as_of`` that ``days`` more days reach, the last one's included.

    Past MOST_QUARTERS one more day, that of the end.
    """
    last = as_of + timedelta(days=days)
    ends: list[date] = []
    day = _quarter_end(as_of + timedelta(days=1))
    while len(ends) < MOST_QUARTERS:
        ends.append(day)
        if day >= last:
            return ends
        day = _quarter_end(day + timedelta(days=1))
    return [*ends, last]


def _quarter_end(day: date) -> date:
    """The last day of the calendar quarter that ``day`` falls in."""
    month = (day.month - 1) // MONTHS_PER_QUARTER * MONTHS_PER_QUARTER + MONTHS_PER_QUARTER
    following = date(day.year + month // 12, month % 12 + 1, 1)
    return following - timedelta(days=1)


def periods(as_of: date, ends: list[date]) -> pl.DataFrame:
    """The spans from the day after ``as_of`` to each of ``ends``: quarter (2026 Q4), from, to."""
    begins = [as_of, *ends[:-1]]
    names = [f"{day.year} Q{(day.month - 1) // MONTHS_PER_QUARTER + 1}" for day in ends]
    quarters = [LATER if place >= MOST_QUARTERS else name for place, name in enumerate(names)]
    found = (quarters, [day + timedelta(days=1) for day in begins], list(ends))
    return pl.DataFrame(dict(zip(PERIOD, found, strict=True)))


def quarter_before(day: date) -> date:
    """The last day of the latest quarter that ended before ``day``."""
    begin = date(day.year, (day.month - 1) // MONTHS_PER_QUARTER * MONTHS_PER_QUARTER + 1, 1)
    return begin - timedelta(days=1)

"""The days the invented business was at work, and how busy each was."""

from datetime import date

import numpy as np

from analytics.demo.arrays import Days, Places

FIRST_DAY = date(2020, 11, 1)
AS_OF = date(2026, 10, 31)
"""The last day anything was written down."""

_SATURDAY = 5
_MONDAY_OFFSET = 3
"""1970-01-01, day 0, was a Thursday: day number + 3 counts weekdays from Monday."""


def day(of: date) -> np.datetime64:
    """A calendar day as numpy counts days."""
    return np.datetime64(of, "D")


def weekday(days: Days) -> Places:
    """The day of the week, 0 = Monday."""
    return (days.astype(np.int64) + _MONDAY_OFFSET) % 7


def season_place(days: Days) -> Places:
    """The meteorological season, 0 = winter (December, January, February) to 3 = autumn."""
    month = days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    return month % 12 // 3


def work_days(rng: np.random.Generator, count: int, season_weights: tuple[float, ...]) -> Days:
    """Days of finished work: Mondays to Fridays of a business that triples over the period, busier in some seasons."""
    days = np.arange(day(FIRST_DAY), day(AS_OF) + np.timedelta64(1, "D"))
    growth = 0.5 + np.linspace(0, 1, len(days))
    weights = growth * np.array(season_weights)[season_place(days)] * (weekday(days) < _SATURDAY)
    chosen: Days = rng.choice(days, size=count, p=weights / weights.sum())
    return chosen


def coming_days(rng: np.random.Generator, count: int, weeks: int) -> Days:
    """Mondays to Fridays of the weeks after the last day, which is a Saturday."""
    monday = day(AS_OF) + np.timedelta64(2, "D")
    ahead = rng.integers(0, weeks, count) * 7 + rng.integers(0, 5, count)
    return np.asarray(monday + ahead.astype("timedelta64[D]"))

"""Lengths of time that several layers must read alike."""

DAYS_PER_YEAR = 365.25
MONTHS_PER_YEAR = 12
MINUTES_PER_HOUR = 60


def months_of(days: float) -> float:
    """How many months these days are, on average."""
    return days / DAYS_PER_YEAR * MONTHS_PER_YEAR


def horizon_days(months: int) -> int:
    """Whole days in ``months`` from the day of the repair.

    Rounded down, so that a crack that held to the end of a calendar warranty of as many whole years counts as watched
    at that age: 12 -> 365, 24 -> 730, 60 -> 1826. Half a year from September on has 181 days and 6 -> 182: warranties
    of broken years may fall a day short of it.
    """
    return int(months * DAYS_PER_YEAR / MONTHS_PER_YEAR)

"""What an estimate may be asked for, the months it looks over and the level of its intervals; what it must rest on."""

from analytics.errors import LeakbackError

LONGEST_MONTHS = 1200
USUAL_LEVEL = 0.95
"""Of the intervals, unless another is asked for or said."""
QUOTE_LEVEL, RESERVE_LEVEL = 0.8, 0.9
"""Of what a quote's crack or job takes, and of what is set aside: a range to work by, not a finding to be sure of."""
FEWEST_JOBS = 5
"""Intervals rest on the spread between jobs; fewer than this say too little about it."""


def require_months(months: int) -> None:
    """LeakbackError in one sentence for months that no crack is looked at over."""
    if not 0 < months <= LONGEST_MONTHS:
        raise LeakbackError(f"months are {months}: they must lie between 1 and {LONGEST_MONTHS}, such as 24")


def require_level(level: float) -> None:
    """LeakbackError in one sentence for a level that no interval has."""
    if not 0 < level < 1:
        raise LeakbackError(f"level is {level:g}: it must lie between 0 and 1, such as {USUAL_LEVEL:g}")

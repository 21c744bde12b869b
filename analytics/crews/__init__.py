"""Is a crew's run of callbacks bad luck or bad practice: observed against expected, what explains it, since when."""

from analytics.crews.limits import expected_needed
from analytics.crews.practice import LAPSES, PRACTICES, Effects, Habits, habits
from analytics.crews.profile import FEWEST_FOR_SPREAD, Profile, profile
from analytics.crews.run import CREW_YEARS_A_FALSE_ALARM, runs

__all__ = [
    "CREW_YEARS_A_FALSE_ALARM",
    "FEWEST_FOR_SPREAD",
    "LAPSES",
    "PRACTICES",
    "Effects",
    "Habits",
    "Profile",
    "expected_needed",
    "habits",
    "profile",
    "runs",
]

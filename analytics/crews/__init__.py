"""Is a crew's run of callbacks bad luck or bad practice: observed against expected, what explains it, since when."""

from analytics.crews.limits import expected_needed
from analytics.crews.practice import LAPSES, PRACTICES, Effects, Habits, Practice, habits
from analytics.crews.profile import CLEARLY_WORSE, FEWEST_FOR_SPREAD, Profile, profile
from analytics.crews.run import CREW_YEARS_A_FALSE_ALARM, TIMES_AS_MANY, runs

__all__ = [
    "CLEARLY_WORSE",
    "CREW_YEARS_A_FALSE_ALARM",
    "FEWEST_FOR_SPREAD",
    "LAPSES",
    "PRACTICES",
    "TIMES_AS_MANY",
    "Effects",
    "Habits",
    "Practice",
    "Profile",
    "expected_needed",
    "habits",
    "profile",
    "runs",
]

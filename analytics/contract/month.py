"""A calendar month, as a report is asked for: 2026-10."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from analytics.contract.ages import MONTHS_PER_YEAR
from analytics.errors import LeakbackError

_WRITTEN = re.compile(r"(\d{4})-(\d{2})")


@dataclass(frozen=True, slots=True)
class Month:
    """A month of a year."""

    year: int
    month: int

    @classmethod
    def of(cls, day: date) -> "Month":
        """The month ``day`` lies in."""
        return cls(day.year, day.month)

    @classmethod
    def read(cls, text: str) -> "Month":
        """The month written as year-month; LeakbackError where it is none."""
        found = _WRITTEN.fullmatch(text.strip())
        if found is None or not 1 <= int(found[2]) <= MONTHS_PER_YEAR or int(found[1]) == 0:
            raise LeakbackError(f"month {text!r}: write it as year-month, such as 2026-10")
        return cls(int(found[1]), int(found[2]))

    @classmethod
    def last_whole(cls, day: date) -> "Month":
        """The last month that was over by the end of ``day``."""
        next_day = day + timedelta(days=1)
        return cls.of(date(next_day.year, next_day.month, 1) - timedelta(days=1))

    @property
    def first_day(self) -> date:
        """Its first day."""
        return date(self.year, self.month, 1)

    @property
    def last_day(self) -> date:
        """Its last day."""
        return date(self.year, self.month, monthrange(self.year, self.month)[1])

    @property
    def words(self) -> str:
        """``October 2026``."""
        return f"{self.first_day:%B %Y}"

    def __str__(self) -> str:
        return f"{self.year:04d}-{self.month:02d}"

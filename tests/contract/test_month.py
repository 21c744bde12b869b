from datetime import date

import pytest

from analytics.contract.month import Month
from analytics.errors import LeakbackError


def test_a_month_runs_from_its_first_day_to_its_last() -> None:
    february = Month.read("2024-02")
    assert (february.first_day, february.last_day) == (date(2024, 2, 1), date(2024, 2, 29))
    assert (february.words, str(february)) == ("February 2024", "2024-02")
    assert Month.of(date(2026, 12, 31)) == Month(2026, 12)


@pytest.mark.parametrize("text", ["2026-13", "2026-00", "0000-01", "2026", "10/2026", "2026-1", "", "2026-10-01"])
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(LeakbackError, match="such as 2026-10"):
        Month.read(text)


@pytest.mark.parametrize(
    ("day", "month"), [("2026-10-31", "2026-10"), ("2026-11-27", "2026-10"), ("2026-01-30", "2025-12")]
)
def test_the_last_whole_month_is_over(day: str, month: str) -> None:
    assert str(Month.last_whole(date.fromisoformat(day))) == month

"""Days whose day a spreadsheet took for the month, where it could."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from analytics.answers import mapping
from analytics.errors import MapError, UnreadableFileError
from analytics.intake import Source
from tests.intake.brought import brought, clean, csv_bytes

MAP = """version = 1
[jobs.columns]
job_id = "Job"
crew_id = "Crew"
status = {{ constant = "done" }}
done_on = {{ header = "Done", date_format = "{order}"{more} }}
"""
YEAR = [date(2025, 1, 3) + timedelta(days=9 * n) for n in range(40)]
MONTH = [date(2025, 10, day) for day in range(1, 31)]
Write = Callable[[date], str]


def swapping(text: str) -> Write:
    """What a spreadsheet set to the other order makes of days typed so: later than the 12th, they stay text."""
    return lambda day: f"{day:%Y-%d-%m}" if day.day <= 12 else f"{day:{text}}"


def first_half(day: date) -> str:
    """The first days of a month kept as days, rightly; later ones typed as text."""
    return f"{day:%Y-%m-%d}" if day.day <= 12 else f"{day:%d/%m/%Y}"


def jobs(days: list[date], write: Write, names: tuple[str, str, str] = ("Job", "Crew", "Done")) -> dict[str, bytes]:
    return {"jobs.csv": csv_bytes([names, *((str(n), "C01", write(day)) for n, day in enumerate(days))])}


ORDERS = {"DD/MM/YYYY": "%d/%m/%Y", "MM/DD/YYYY": "%m/%d/%Y"}


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("days", [YEAR, MONTH])
def test_swapped_days_are_refused_until_the_map_says_what_they_are(order: str, days: list[date]) -> None:
    files = jobs(days, swapping(ORDERS[order]))
    with pytest.raises(MapError, match=r"in Done, every day that the spreadsheet holds .* say days_swapped = true"):
        brought(files, MAP.format(order=order, more=""))
    back = brought(files, MAP.format(order=order, more=", days_swapped = true"))
    assert sorted(day for _, day in clean(back, "jobs", "job_id", "done_on")) == days
    kept = brought(files, MAP.format(order=order, more=", days_swapped = false"))
    assert sorted(day for _, day in clean(kept, "jobs", "job_id", "done_on")) != days


def test_a_later_file_that_came_right_is_not_swapped() -> None:
    files = jobs(YEAR, lambda day: f" {day:%Y-%m-%d}")
    with pytest.raises(MapError, match=r"jobs.csv: Done holds days after the 12th.* say days_swapped = false for this"):
        brought(files, MAP.format(order="DD/MM/YYYY", more=", days_swapped = true"))
    kept = brought(files, MAP.format(order="DD/MM/YYYY", more=", days_swapped = false"))
    assert sorted(day for _, day in clean(kept, "jobs", "job_id", "done_on")) == YEAR


def test_the_page_of_a_map_says_so() -> None:
    [(name, content)] = jobs(YEAR, swapping("%d/%m/%Y")).items()
    assert "taken day for month" in mapping.propose_sources([Source(name, content)]).fault


def test_the_first_half_of_a_month_kept_as_days_is_not_taken_for_swapped() -> None:
    batch = brought(jobs(MONTH, first_half), MAP.format(order="DD/MM/YYYY", more=""))
    assert sorted(day for _, day in clean(batch, "jobs", "job_id", "done_on")) == MONTH


@pytest.mark.parametrize(("text", "held"), [((2026, 2), (2026, 3)), ((2025, 12), (2026, 1)), ((2026, 1), (2025, 12))])
def test_days_kept_rightly_in_the_month_before_or_after_are_not_taken_for_swapped(
    text: tuple[int, int], held: tuple[int, int]
) -> None:
    right = [date(*text, day) for day in range(13, 24)] + [date(*held, day) for day in range(2, 12)]
    batch = brought(jobs(right, first_half), MAP.format(order="DD/MM/YYYY", more=""))
    assert sorted(day for _, day in clean(batch, "jobs", "job_id", "done_on")) == sorted(right)


def test_a_day_that_is_the_number_of_its_month_tells_nothing() -> None:
    right = [date(2026, 2, day) for day in (2, 2, 2, 2, 2, *range(13, 24))]
    batch = brought(jobs(right, first_half), MAP.format(order="DD/MM/YYYY", more=""))
    assert sorted(day for _, day in clean(batch, "jobs", "job_id", "done_on")) == right


def test_few_days_tell_nothing() -> None:
    few = [day for day in YEAR if day.day > 12][:3] + [day for day in YEAR if day.day <= 12]
    assert brought(jobs(few, swapping("%d/%m/%Y")), MAP.format(order="DD/MM/YYYY", more=""))


def test_in_our_own_words_they_are_refused_too() -> None:
    files = jobs(YEAR, swapping("%d/%m/%Y"), ("job_id", "crew_id", "done_on"))
    with_status = {"jobs.csv": files["jobs.csv"].replace(b",C01,", b",done,").replace(b"crew_id", b"status")}
    with pytest.raises(UnreadableFileError, match="write all of them as 2026-03-31"):
        brought(with_status)


def test_only_a_day_can_be_swapped() -> None:
    with pytest.raises(MapError, match="no days_swapped"):
        brought(
            {}, MAP.format(order="DD/MM/YYYY", more="").replace('"Crew"', '{ header = "Crew", days_swapped = true }')
        )

"""Days as they are written: ISO 8601, a column map's own order, or a spreadsheet's day numbers. Never guessed."""

import re
from datetime import date

import polars as pl

ISO = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?)?$"
TIME_BEHIND = r"[T ]+[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?(?:\s?[AaPp]\.?[Mm]\.?)?$"
DAY_NUMBER = r"^[0-9]{5}(?:\.[0-9]+)?$"
DAY_NUMBERS = "day numbers"
"""A column map's date_format for days kept as numbers of days since 1899-12-30."""
COUNTED_FROM = date(1899, 12, 30)
FIRST_YEAR, LAST_YEAR = 1950, 2100
"""A year outside was written with two digits, or is a slip."""
FEWEST_TO_TELL = 4
MOST_ELSEWHERE, MOST_WITHIN, MOST_SLIPS = 0.1, 0.5, 0.1
MONTHS = 12
SEEM_SWAPPED = (
    "every day that the spreadsheet holds is of the 12th or before, and every day that is text is later: it seems to "
    "have taken day for month in the first"
)
CODES = {"YYYY": "%Y", "YY": "%y", "MMMM": "%B", "MMM": "%b", "MM": "%m", "M": "%m", "DD": "%d", "D": "%d"}
CODE = re.compile("|".join(sorted(CODES, key=len, reverse=True)))


def day_codes(said: str) -> str:
    """A date format as strptime codes: ``DD/MM/YYYY`` is ``%d/%m/%Y``; codes stay as they are."""
    if "%" in said or said == DAY_NUMBERS:
        return said
    return CODE.sub(lambda found: CODES[found[0]], said.upper())


def days(cells: pl.Series, day_format: str = "", day_zero: int | None = None) -> pl.Series:
    """Cells as days; null where one cannot be read, or lies before 1950 or after 2100.

    Args:
        cells: text without spaces around it.
        day_format: strptime codes, or ``DAY_NUMBERS``; an ISO 8601 day is read whatever it says.
        day_zero: added to a plain number to make it days since 1899-12-30; None where numbers are not days.
    """
    read = cells.set(~cells.str.contains(ISO), None).str.head(10).str.to_date("%Y-%m-%d", strict=False)
    if day_format == DAY_NUMBERS:
        day_format, day_zero = "", day_zero or 0
    if day_format:
        bare = cells.str.replace(TIME_BEHIND, "").str.replace(r"(?i)\bsept\b", "Sep")
        read = read.zip_with(read.is_not_null(), bare.str.to_date(day_format, strict=False))
    if day_zero is not None:
        counted = cells.set(~cells.str.contains(DAY_NUMBER), None).cast(pl.Float64).floor().cast(pl.Int32)
        epoch = (COUNTED_FROM - date(1970, 1, 1)).days + day_zero
        read = read.zip_with(read.is_not_null(), (counted + epoch).cast(pl.Date))
    return read.set(~read.dt.year().is_between(FIRST_YEAR, LAST_YEAR), None)


def are_all_iso(cells: pl.Series) -> bool:
    """Whether every cell that is not blank is written as an ISO 8601 day."""
    texts = cells.unique().str.strip_chars()
    return bool((texts.str.contains(ISO) | (texts == "")).all())


def look_swapped(cells: pl.Series, day_format: str) -> bool:
    """Whether a spreadsheet set to the other order seems to have taken day for month wherever it could.

    It then holds each day up to the 12th as a day of its own, with day and month swapped, and left all later ones as
    text. Where the days that it holds lie in the months of the others as they are, or in one next to those, nothing was
    swapped: they are the first half of a month. A day that is the number of its month tells nothing.

    Args:
        cells: text without spaces around it.
        day_format: the order of the text, in strptime codes.
    """
    if "%m" not in day_format:
        return False
    is_held = cells.str.contains(ISO)
    held, typed = days(cells.filter(is_held)).drop_nulls(), days(cells.filter(~is_held), day_format).drop_nulls()
    held = held.filter(held.dt.day() != held.dt.month())
    if min(len(held), len(typed)) < FEWEST_TO_TELL:
        return False
    if (held.dt.day() > MONTHS).any() or (typed.dt.day() <= MONTHS).any():
        return False
    months = typed.dt.month().unique()
    near = pl.concat([months, months % MONTHS + 1, (months - 2) % MONTHS + 1])
    elsewhere = (~held.dt.month().is_in(near.implode())).sum()
    within = held.dt.day().is_in(months.implode()).sum()
    return bool(elsewhere > MOST_ELSEWHERE * len(held) or within >= MOST_WITHIN * len(held))


def in_doubt(cells: pl.Series, read: pl.Series, day_format: str) -> pl.Series:
    """Which cells another order of day and month makes another day of, where the column is hardly in the order said.

    It is so where, of the days that only one order can read, not nearly all are in the one said.

    Args:
        cells: text without spaces around it.
        read: the cells as days in the order said.
        day_format: that order, in strptime codes.
    """
    none = pl.repeat(value=False, n=len(cells), eager=True)
    unread = cells.is_not_null() & read.is_null()
    if "%d" not in day_format or "%m" not in day_format or not unread.any():
        return none
    other = days(cells, other_order(day_format))
    against, sure = int((unread & other.is_not_null()).sum()), int((read.is_not_null() & other.is_null()).sum())
    return ((read != other) & other.is_not_null() & read.is_not_null()) if against > MOST_SLIPS * sure else none


def other_order(day_format: str) -> str:
    """A format with day and month exchanged."""
    return day_format.translate({ord("d"): "m", ord("m"): "d"})


def hold_late_days(cells: pl.Series) -> bool:
    """Whether a spreadsheet holds any day after the 12th, which no month could have been taken for.

    Args:
        cells: text without spaces around it.
    """
    return bool((days(cells).dt.day() > MONTHS).any())


def swapped_back(cells: pl.Series) -> pl.Series:
    """Cells with day and month exchanged in each day that a spreadsheet holds, where the day could be a month."""
    return cells.str.replace(r"^([0-9]{4})-([0-9]{2})-(0[1-9]|1[0-2])(\D|$)", "${1}-${3}-${2}${4}")

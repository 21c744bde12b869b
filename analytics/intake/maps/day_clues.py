"""What the values of a column of days say of the order they are written in."""

import polars as pl

from analytics.intake.days import days
from analytics.intake.maps.clue import Clue

ORDERS = {
    "%d/%m/%Y": "DD/MM/YYYY",
    "%m/%d/%Y": "MM/DD/YYYY",
    "%d.%m.%Y": "DD.MM.YYYY",
    "%d-%m-%Y": "DD-MM-YYYY",
    "%m-%d-%Y": "MM-DD-YYYY",
    "%Y/%m/%d": "YYYY/MM/DD",
    "%m/%d/%y": "MM/DD/YY",
    "%d/%m/%y": "DD/MM/YY",
    "%d.%m.%y": "DD.MM.YY",
    "%d %b %Y": "DD MMM YYYY",
    "%d %b %y": "DD MMM YY",
    "%d %B %Y": "DD MMMM YYYY",
    "%d %B %y": "DD MMMM YY",
    "%b %d, %Y": "MMM DD, YYYY",
    "%b %d, %y": "MMM DD, YY",
    "%B %d, %Y": "MMMM DD, YYYY",
    "%b %d %Y": "MMM DD YYYY",
    "%B %d %Y": "MMMM DD YYYY",
    "%d-%b-%Y": "DD-MMM-YYYY",
    "%d-%b-%y": "DD-MMM-YY",
    "%d.%b.%Y": "DD.MMM.YYYY",
    "%Y%m%d": "YYYYMMDD",
}
UNSURE = 0.4
CHOOSE = "; choose one"


def day_clue(values: pl.Series) -> Clue:
    """In which order days are written, where their values leave no doubt of it."""
    read = {codes: days(values, codes) for codes in ("", *ORDERS)}
    filled = {codes: len(found) - found.null_count() for codes, found in read.items()}
    most = max(filled.values())
    if not most:
        return Clue(0.0, "its values are not days in any order that is known; write them as 2026-03-31", sure=UNSURE)
    share = most / len(values)
    part = (
        "" if most == len(values) else f": {share:.0%} of them, and no order reads more; the others are no days in it"
    )
    fit = _apart({codes: found for codes, found in read.items() if filled[codes] == most})
    if "" in fit:
        return Clue(share, f"days written year-month-day{part}")
    first = ORDERS[fit[0]]
    if len(fit) == 1:
        return Clue(share, f"reads as {first}{part}" if part else f"only {first} reads all of them", date_format=first)
    orders = tuple(ORDERS[codes] for codes in fit)
    why = "no day is over 12" if not part else "either reads as many"
    return Clue(share, f"could be {' or '.join(orders)}: {why}{CHOOSE}", date_format=first, sure=UNSURE, orders=orders)


def _apart(read: dict[str, pl.Series]) -> list[str]:
    """The orders that could be meant; of those with a month in letters that make the same days, the first."""
    found: list[str] = []
    for codes, made in read.items():
        in_letters = "%b" in codes or "%B" in codes
        if not (in_letters and any(made.equals(read[other]) for other in found)):
            found.append(codes)
    return found

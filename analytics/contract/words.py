"""Figures as people read them, the same in a chart's label, a sentence, a table and the terminal.

Thin no-break spaces in thousands and before a unit; ranges as "5.4 to 9.3"; a missing value is a dash. A value that
comes with its SI unit is written in the reader's units.
"""

import math
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date

import polars as pl

from analytics.contract import units
from analytics.contract.bounds import USUAL_LEVEL
from analytics.contract.units import SIGNIFICANT, Figure

THIN = "\u202f"
DASH = "–"
MINUS = "\u2212"
MOST_DIGITS = 3
ALMOST_SURE = 0.99


def missing(value: object) -> bool:
    """Whether there is nothing to show: None or not a number."""
    return value is None or (isinstance(value, float) and math.isnan(value))


def number(value: Figure, digits: int = 0, unit: str = "") -> str:
    """``1 234.5 L`` with thin spaces; a dash where ``value`` is missing."""
    if value is None or missing(value):
        return DASH
    value, unit, digits = units.shown(value, unit), units.shown_unit(unit), units.shown_digits(digits, unit)
    written = f"{value:,.{digits}f}".replace(",", THIN)
    if written.startswith("-"):
        written = MINUS * any(digit in written for digit in "123456789") + written[1:]
    return f"{written}{THIN}{unit}" if unit else written


def quantity(value: Figure, unit: str = "") -> str:
    """A measured quantity to three figures, without trailing zeros: ``0.8 mm``, ``1 200 mm``."""
    if value is None or missing(value):
        return DASH
    size, unit = float(units.shown(value, unit) or 0.0), units.shown_unit(unit)
    digits = max(0, SIGNIFICANT - 1 - math.floor(math.log10(abs(size)))) if size else 0
    while digits and round(size, digits) == round(size, digits - 1):
        digits -= 1
    written = number(size, digits)
    return f"{written}{THIN}{unit}" if unit else written


def size(value: Figure, unit: str, digits: int | None = None) -> str:
    """A length to be measured off: as a tape shows it in US units, else with ``digits``, else as a quantity."""
    plain = quantity(value, unit) if digits is None else number(value, digits, unit)
    return units.on_a_tape(value, unit) or plain


def percent(share: Figure, digits: int = 1) -> str:
    """A share from 0 to 1 as ``7.1 %``."""
    return number(None if share is None else float(share) * 100, digits, "%")


def chance(share: float) -> str:
    """A chance in whole percent, never as certain: ``over 99 %``, ``under 1 %``."""
    if share >= ALMOST_SURE:
        return f"over {percent(ALMOST_SURE, 0)}"
    return f"under {percent(1 - ALMOST_SURE, 0)}" if share <= 1 - ALMOST_SURE else percent(share, 0)


def interval(low: Figure, high: Figure, digits: int = 0, unit: str = "") -> str:
    """``5.4 to 9.3``; a dash where either end is missing. ``unit`` is theirs, left to the value beside it."""
    if missing(low) or missing(high):
        return DASH
    ends = (number(units.shown(end, unit), units.shown_digits(digits, unit)) for end in (low, high))
    return " to ".join(ends)


def percent_interval(low: Figure, high: Figure, digits: int = 1) -> str:
    """Two shares as ``5.4 to 9.3``, the sign left to the value beside it."""
    ends = [None if missing(end) or end is None else float(end) * 100 for end in (low, high)]
    return interval(ends[0], ends[1], digits)


def percent_estimate(share: Figure, low: Figure, high: Figure, digits: int = 1) -> str:
    """``7.1 % (5.4 to 9.3)``; a dash where the share is missing."""
    return _bracketed(percent(share, digits), percent_interval(low, high, digits))


def estimate(value: Figure, low: Figure, high: Figure, digits: int = 0, unit: str = "") -> str:
    """``0.63 L (0.47 to 0.86)``; a dash where the value is missing."""
    return _bracketed(number(value, digits, unit), interval(low, high, digits, unit))


def level(share: float = USUAL_LEVEL) -> str:
    """``95 %``, the level of an interval; the usual one where none is given."""
    return f"{100 * share:g}{THIN}%"


def intervals(share: float = USUAL_LEVEL) -> str:
    """``Intervals at 95 %.``, beneath a table whose cells hold some."""
    return f"Intervals at {level(share)}."


def at_level(share: float) -> str:
    """`` (50 % intervals)``, to be said where intervals are not the usual ones; nothing of those."""
    return "" if share == USUAL_LEVEL else f" ({level(share)} intervals)"


def counted(count: int, one: str, many: str | None = None) -> str:
    """``1 crack``, ``1 234 cracks``."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def listed(texts: Sequence[str]) -> str:
    """``a, b and c``; nothing of none."""
    return " and ".join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


def out_of(some: int, every: int, one: str) -> str:
    """``6 jobs`` where it is all of them, else ``5 of 6 jobs``."""
    whole = counted(every, one)
    return whole if some == every else f"{number(some)} of {whole}"


def day(value: date | None) -> str:
    """``Mon 9 Nov``, for a list of coming days."""
    return DASH if value is None else f"{value:%a} {value.day} {value:%b}"


def full_day(value: date | None) -> str:
    """``9 November 2026``, for a sentence or a day long past."""
    return DASH if value is None else f"{value.day} {value:%B %Y}"


def text(value: object) -> str:
    """Any value as one line of plain text without control or direction signs; truth as yes or no, nothing as a dash."""
    if missing(value):
        return DASH
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return full_day(value)
    return units.in_text(as_written(str(value)))


def as_written(value: str) -> str:
    """A text as one line without control or direction signs, its figures in the units they were written in."""
    return "".join(_shown(sign) for sign in value)


def capital(text: str) -> str:
    """The text with its first letter a capital, the others as they are."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """What is said somewhere in a sentence as one of its own: a capital, one sign at its end; nothing stays nothing."""
    return capital(text) if text.endswith(("?", "!")) else f"{capital(text).removesuffix('.')}." if text else ""


def word(value: str) -> str:
    """A value of a fixed list as words: ``urethane_foam`` reads ``urethane foam``."""
    return units.in_text(value.replace("_", " "))


def worded(*columns: str) -> pl.Expr:
    """Columns of fixed lists' values as words; their units are the reader's once they are shown."""
    return pl.col(columns).cast(pl.String).str.replace_all("_", " ", literal=True)


def digits_for(values: Iterable[Figure]) -> int:
    """Digits after the point that a column needs: none for whole numbers, else enough for two figures of the middle."""
    sizes = sorted(abs(float(value)) for value in values if value is not None and not missing(value))
    if all(size == int(size) for size in sizes if math.isfinite(size)):
        return 0
    middle = next((size for size in sizes[len(sizes) // 2 :] if size > 0), 1.0)
    return min(MOST_DIGITS, max(0, 1 - math.floor(math.log10(middle))))


def _shown(sign: str) -> str:
    category = unicodedata.category(sign)
    return " " if category == "Cc" else "" if category == "Cf" else sign


def _bracketed(value: str, ends: str) -> str:
    return value if DASH in (value, ends) else f"{value} ({ends})"

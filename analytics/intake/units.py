"""Quantities in a business's own units, as its column map states them, to the contract's. Converted here, once."""

import re
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING

import polars as pl

from analytics.errors import MapError
from analytics.intake.numerals import numbers
from analytics.intake.sheet import Mark

if TYPE_CHECKING:
    import pint

DECIMALS = 6
"""A converted value is kept to a millionth of its unit: no tape is finer, and 8 ft is 2.4384 m by any way."""
CONTRACT = {"m": "meter", "mm": "millimeter", "L": "liter", "min": "minute", "person-min": "minute", "°C": "degC"}
CONTRACT |= {"months": "month", "kg": "kilogram", "h": "hour"}
IN_A_MAP = {unit: unit.removeprefix("person-") for unit in CONTRACT}
"""The contract's unit in a column map's words."""
WORDS = {
    "millimeter": "mm millimetre millimetres millimeter millimeters",
    "centimeter": "cm centimetre centimetres centimeter centimeters",
    "meter": "m metre metres meter meters",
    "inch": 'in inch inches " ″ ”',
    "foot": "ft foot feet ' ′ ’ lf",
    "yard": "yd yard yards",
    "milliliter": "ml millilitre millilitres milliliter milliliters",
    "liter": "l litre litres liter liters",
    "gallon": "gal gals gallon gallons us_gallon us_gallons",
    "quart": "qt quart quarts",
    "pint": "pt pint pints",
    "fluid_ounce": "fl_oz floz fl._oz. fluid_ounce fluid_ounces oz ounce ounces",
    "imperial_gallon": "imperial_gallon imperial_gallons",
    "imperial_fluid_ounce": "imperial_fluid_ounce imperial_fluid_ounces",
    "kilogram": "kg kgs kilogram kilograms kilo kilos",
    "pound": "lb lbs pound pounds",
    "second": "s sec secs second seconds",
    "minute": "min mins minute minutes person_min person_minutes",
    "hour": "h hr hrs hour hours person_hours crew_hours",
    "day": "day days",
    "degC": "c °c degc celsius",
    "degF": "f °f degf fahrenheit",
    "month": "mo month months",
    "year": "yr yrs year years",
}
UNITS = {word.replace("_", " "): unit for unit, words in WORDS.items() for word in words.split()}
"""Every word a column map may use for a unit; which of a gallon or an ounce is meant is said, never guessed."""
CONTAINER = re.compile(r"^(?:an?\s+|one\s+)?[a-z]+\s+of\s+(?P<content>.+)$", re.IGNORECASE)
COUNTED = re.compile(r"^(?P<count>\d+(?:\.\d+)?)\s*(?P<unit>.+)$")
SHOWN_UNITS = "mm, cm, m, in, ft, ml, l, gal, fl oz, min, hours, °F, months, years, cartridge of 300 ml"

SIGN, COUNT = r"(?P<sign>-?)", r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
PART = r"(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*[/⁄]\s*(?P<bottom>[1-9]\d{0,2})"
INCHES = re.compile(rf"^{SIGN}(?:{PART}|(?P<plain>{COUNT}))$", re.ASCII)
FEET = re.compile(rf"^(?P<feet>{COUNT})\s*(?:'|′|’|ft\.?|foot|feet)\s*-?\s*(?P<rest>.*)$", re.IGNORECASE | re.ASCII)
WITH_UNIT = re.compile(r"^(?P<count>[^A-Za-z\"'″′”’°]*?)\s*(?P<unit>[A-Za-z\"'″′”’°][^\d]*)$", re.ASCII)
CLOCK = re.compile(r"^(?P<hours>\d{1,3}):(?P<minutes>[0-5]\d)(?::[0-5]\d)?$", re.ASCII)
TIME_OF_DAY = re.compile(r"^(?P<day>1899-12-31|1900-01-\d\d) (?P<hours>\d\d):(?P<minutes>\d\d)", re.ASCII)
VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}


@dataclass(frozen=True)
class Scale:
    """From a unit to the contract's: ``times`` x + ``plus``."""

    times: float
    plus: float = 0.0

    def of(self, value: float) -> float:
        """The converted value."""
        return round(self.times * value + self.plus, DECIMALS) + 0.0


@cache
def _registry() -> "pint.UnitRegistry[float]":
    import pint  # noqa: PLC0415 - half a second that only a column map with units has to wait for

    return pint.UnitRegistry()


@cache
def scale(unit: str, target: str) -> Scale:
    """How ``unit``, in a column map's words, becomes the contract's ``target``.

    Raises:
        MapError: for a unit that is not known, or one of another kind.
    """
    count, word = _taken_apart(unit)
    if word not in UNITS:
        near = get_close_matches(word, UNITS, n=1, cutoff=0.7)
        hint = f"did you mean {near[0]}?" if near else f"units are {SHOWN_UNITS}"
        raise MapError(f"unknown unit {unit!r}: {hint}")
    if not _is_alike(UNITS[word], target):
        raise MapError(f"the unit {unit!r} does not measure what a column in {target or 'plain numbers'} does")
    ureg, to = _registry(), CONTRACT[target]
    zero, one = (float(ureg.Quantity(x, UNITS[word]).to(to).magnitude) for x in (0.0, 1.0))
    return Scale((one - zero) * count, zero)


def _taken_apart(unit: str) -> tuple[float, str]:
    """``cartridge of 300 ml`` as 300 and ``ml``; ``2 hours`` as 2 and ``hours``."""
    text = " ".join(unit.strip().lower().replace("_", " ").split())
    if found := CONTAINER.match(text):
        text = found["content"]
    if found := COUNTED.match(text):
        return float(found["count"]), found["unit"]
    return 1.0, text


def _is_alike(unit: str, target: str) -> bool:
    if target not in CONTRACT:
        return False
    ureg = _registry()
    return bool(ureg.Unit(unit).dimensionality == ureg.Unit(CONTRACT[target]).dimensionality)


def converted(cells: pl.Series, unit: str, target: str, mark: Mark, *, thousands: bool = False) -> pl.Series:
    """Cells in ``unit`` as numbers in ``target``; null where one cannot be read.

    Plain numbers are in ``unit``. A cell may name another unit of the same kind itself (``2' 6"``, ``30 in``), a
    fraction is read where it is of inches, and ``2:10`` where the unit is hours.
    """
    whole = scale(unit, target)
    plain = numbers(cells, mark, thousands=thousands).cast(pl.Float64)
    values = plain
    if whole != Scale(1.0):
        values = (plain * whole.times + whole.plus).round(DECIMALS).replace(0.0, 0.0)  # a nought that is -0.0 among it
    odd = cells.filter(values.is_null() & cells.is_not_null()).unique()
    read = {cell: found for cell in odd if (found := _written_out(cell, unit, target, mark)) is not None}
    if not read:
        return values
    others = cells.replace_strict(read, default=None, return_dtype=pl.Float64)
    return values.zip_with(values.is_not_null(), others)


def _written_out(cell: str, unit: str, target: str, mark: Mark) -> float | None:
    """One cell that is not a plain number, in ``target``; None where it cannot be read."""
    for sign, fraction in VULGAR.items():
        cell = cell.replace(sign, f" {fraction}").replace("\u00a0", " ").replace("\u202f", " ").strip()
    base = UNITS[_taken_apart(unit)[1]]
    if base == "hour" and (clock := _hours(cell)) is not None:
        return scale(unit, target).of(clock)
    if _is_alike("foot", target) and (found := FEET.match(cell)):
        return _feet_and_inches(found["feet"], found["rest"], target, mark)
    if base == "inch" and (inches := _inches(cell, mark)) is not None:
        return scale(unit, target).of(inches)
    found = WITH_UNIT.match(cell)
    word = found["unit"].strip().lower().rstrip(".") if found else ""
    if not found or word not in UNITS or not _is_alike(UNITS[word], target):
        return None
    count = _inches(found["count"], mark) if UNITS[word] == "inch" else _number(found["count"], mark)
    return None if count is None else scale(word, target).of(count)


def _feet_and_inches(feet: str, rest: str, target: str, mark: Mark) -> float | None:
    rest = re.sub(r"\s*(?:\"|″|”|''|in\.?|inch|inches)$", "", rest.strip(), flags=re.IGNORECASE)
    whole, part = _number(feet, mark), _inches(rest, mark) if rest else 0.0
    if whole is None or part is None or (rest and whole != int(whole)):
        return None
    return scale("inch", target).of(12 * whole + part)


def _inches(cell: str, mark: Mark) -> float | None:
    found = INCHES.match(cell.strip())
    if not found:
        return None
    if found["plain"]:
        value = _number(found["plain"], mark)
    else:
        top, bottom = int(found["top"]), int(found["bottom"])
        value = int(found["whole"] or 0) + top / bottom if top < bottom or not found["whole"] else None
    return None if value is None else -value if found["sign"] else value


def _number(text: str, mark: Mark) -> float | None:
    read = numbers(pl.Series([text.strip()]), mark).cast(pl.Float64).item()
    return None if read is None else float(read)


def _hours(cell: str) -> float | None:
    """Hours and minutes: written ``2:10``, or a time as a spreadsheet keeps it."""
    if found := CLOCK.match(cell):
        return int(found["hours"]) + int(found["minutes"]) / 60
    if found := TIME_OF_DAY.match(cell):
        days = 0 if found["day"].startswith("1899") else int(found["day"][-2:])
        return 24 * days + int(found["hours"]) + int(found["minutes"]) / 60
    return None

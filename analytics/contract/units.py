"""The reader's units: SI everywhere inside, converted where a figure is written and nowhere else.

The store, every answer, JSON and CSV stay SI. What is shown is metric, or US customary where the policy says
``display = "us"``; a door sets it around the pages it shows. Factors are pint's: the international foot and inch and
the US gallon of 231 cubic inches (NIST Special Publication 811, Appendix B; NIST Handbook 44, Appendix C).
"""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import ceil, floor, isfinite, log10
from typing import TYPE_CHECKING, Any, Literal

import polars as pl

if TYPE_CHECKING:
    from pint import UnitRegistry

System = Literal["metric", "us"]
Figure = float | int | Decimal | None
SIGNIFICANT = 3
INCHES = {"in": 1, "ft": 12}
SIXTEENTHS, FINER, NO_FRACTION = 16, (32, 64), 0.001
"""How finely a tape is read, and a crack's width, and the share by which a length may miss a fraction that it is."""
NO_BREAK = "\u00a0"
"""As wide as a space: what stands before a fraction must not be read as part of it."""

_SHOWN: ContextVar[System] = ContextVar("units shown", default="metric")
_US = {"m": "ft", "mm": "in", "L": "gal", "mL": "fl oz", "kPa": "psi", "kg": "lb"}
_PINT = {"m": "meter", "mm": "millimeter", "L": "liter", "mL": "milliliter", "kPa": "kilopascal", "kg": "kilogram"} | {
    "ft": "foot",
    "in": "inch",
    "gal": "gallon",
    "fl oz": "fluid_ounce",
    "psi": "pound_force_per_square_inch",
    "lb": "pound",
}
_IN_TEXT = re.compile(
    r"(?<![\w.,/-])(?P<first>\d+(?:\.\d+)?)(?: to (?P<second>\d+(?:\.\d+)?))?[ \u202f\u00a0]"
    r"(?P<unit>L/m|mm|mL|m|L|kPa)(?![\w/²³])(?! \([^()]*(?:\bin|\bft|°F)\))"
)
_PLAIN = re.compile(r"^[+-]?[\d.,/ ]*\d$")
"""A number without a unit: what is typed is in the unit that the label names."""
_WALL_AT = re.compile(r"\bwall (?P<is>is )?at (?P<degrees>-?\d+(?:\.\d+)?) °C")
"""A temperature that was measured; those of a standard or a rule are given as they are published."""
_A_METRE = re.compile(r"\b(per|a) metre\b")


@dataclass(frozen=True, slots=True)
class Conversion:
    """``value * scale + offset`` in ``unit``; ``digits`` more after the point show it as finely."""

    unit: str
    scale: float
    offset: float = 0.0

    @property
    def digits(self) -> int:
        """Digits after the point to add, as the figure gets smaller."""
        return max(0, ceil(-log10(self.scale)))

    def of(self, value: float | Decimal) -> float:
        """The value in the unit converted to."""
        return float(value) * self.scale + self.offset


@contextmanager
def displayed(system: System) -> Iterator[None]:
    """Write figures in this system meanwhile."""
    before = _SHOWN.set(system)
    try:
        yield
    finally:
        _SHOWN.reset(before)


def conversion(unit: str) -> Conversion | None:
    """From an SI unit to the reader's; None where it is shown as it is."""
    return _to_us(unit) if _SHOWN.get() == "us" else None


def shown(value: Figure, unit: str) -> Figure:
    """A value of an SI unit in the reader's."""
    found = conversion(unit)
    return value if found is None or value is None else found.of(value)


def shown_columns(frame: pl.DataFrame, columns: Iterable[str], unit: str) -> pl.DataFrame:
    """``frame`` with these columns of an SI unit in the reader's."""
    found = conversion(unit)
    return frame if found is None else frame.with_columns(pl.col(list(columns)) * found.scale + found.offset)


def shown_unit(unit: str) -> str:
    """The reader's unit for an SI unit."""
    found = conversion(unit)
    return unit if found is None else found.unit


def shown_digits(digits: int, unit: str) -> int:
    """Digits after the point that show as much in the reader's unit as ``digits`` do in SI."""
    found = conversion(unit)
    return digits if found is None else digits + found.digits


def on_a_tape(value: Figure, unit: str) -> str:
    """A length of an SI unit as a US tape shows it, ``12 ft 1 5/16 in``; empty where it is shown otherwise.

    To a sixteenth from an inch on (common practice, no source). Less is said so only where it is one, or a 32nd or
    64th, as crack widths are written: one is never rounded to another.
    """
    each = INCHES.get(shown_unit(unit))
    if value is None or each is None or not isfinite(value) or value < 0:
        return ""
    inches = float(shown(value, unit) or 0.0) * each
    fine = (SIXTEENTHS, *FINER) if inches < 1 else ()
    parts = next((one for one in fine if abs(round(inches * one) / one - inches) <= NO_FRACTION * inches), SIXTEENTHS)
    count = round(inches * parts)
    if inches < 1 and abs(count / parts - inches) > NO_FRACTION * inches:
        return ""
    feet, rest = divmod(count, INCHES["ft"] * parts) if unit == "m" else (0, count)
    whole, part = divmod(rest, parts)
    numbers = [str(whole)] * (whole > 0 or not part) + [str(Fraction(part, parts))] * (part > 0)
    said = [f"{feet}\u202fft"] * (feet > 0) + [f"{NO_BREAK.join(numbers)}\u202fin"] * (rest > 0 or not feet)
    return NO_BREAK.join(said)


def with_unit(text: str, unit: str) -> str:
    """What was typed for an SI ``unit``, with the reader's own unit where that is another and none was typed."""
    told = shown_unit(unit)
    return f"{text} {told}" if told != unit and _PLAIN.match(text) else text


def in_text(text: str) -> str:
    """A text with its lengths and volumes, and "per metre", in the reader's units; one that gives both is left alone.

    For words made before anybody knew the reader: bands of width, reasons of the rules. A wall's temperature is given
    in both, as the classes of a standard do not convert (ASTM C881 has round figures of its own in each edition).
    """
    if _SHOWN.get() != "us":
        return text
    return _IN_TEXT.sub(_said, _WALL_AT.sub(_wall, _A_METRE.sub(r"\1 foot", text)))


def _wall(found: re.Match[str]) -> str:
    degrees = found["degrees"]
    shown = _written(Conversion("°F", 9 / 5, 32.0).of(float(degrees)))
    return f"wall {found['is'] or ''}at {shown}\u202f°F ({degrees} °C)"


def _said(found: re.Match[str]) -> str:
    to = _to_us(found["unit"])
    if to is None:
        return found[0]
    ends = [_written(to.of(float(end))) for end in (found["first"], found["second"]) if end is not None]
    return f"{' to '.join(ends)}\u202f{to.unit}"


def _written(value: float) -> str:
    """To three figures, without trailing zeros."""
    if not value:
        return "0"
    digits = max(0, SIGNIFICANT - 1 - floor(log10(abs(value))))
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@cache
def _to_us(unit: str) -> Conversion | None:
    if unit == "°C":
        return Conversion("°F", 9 / 5, 32.0)
    top, slash, bottom = unit.partition("/")
    if not slash:
        return Conversion(_US[unit], _factor(unit)) if unit in _US else None
    if top not in _US and bottom not in _US:
        return None
    scale = (_factor(top) if top in _US else 1.0) / (_factor(bottom) if bottom in _US else 1.0)
    return Conversion(f"{_US.get(top, top)}/{_US.get(bottom, bottom)}", scale)


def _factor(unit: str) -> float:
    return float(_registry().Quantity(1, _PINT[unit]).to(_PINT[_US[unit]]).magnitude)


@cache
def _registry() -> "UnitRegistry[Any]":
    from pint import UnitRegistry  # noqa: PLC0415, slow to import and only needed for US units

    return UnitRegistry()

"""What the values of a column of measurements say of the unit they are in, alone and beside the rest of a sheet."""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import unit as contract_unit
from analytics.errors import MapError
from analytics.intake.maps.clue import Clue
from analytics.intake.sheet import Mark, Written
from analytics.intake.typing_cells import typed
from analytics.intake.units import IN_A_MAP, UNITS, WITH_UNIT, Scale, scale

if TYPE_CHECKING:
    from analytics.intake.maps.headings import Heading

# Where most values of ordinary work lie, in the contract's unit: common practice, no source.
USUAL: dict[str, tuple[float, float]] = {
    "length_m": (0.2, 9),
    "width_mm": (0.03, 15),
    "wall_thickness_mm": (100, 500),
    "offset_mm": (0, 20),
    "wall_temp_c": (-5, 32),
    "port_spacing_mm": (80, 450),
    "resin_litres": (0.02, 8),
    "labour_minutes": (20, 600),
    "travel_minutes": (3, 240),
    "warranty_months": (3, 600),
}
TRIED: dict[str, tuple[str, ...]] = {
    "m": ("m", "ft", "in", "cm", "mm"),
    "mm": ("mm", "in", "cm", "m"),
    "L": ("L", "gal", "fl oz", "ml"),
    "min": ("min", "hours"),
    "person-min": ("min", "hours"),
    "°C": ("°C", "°F"),
    "months": ("months", "years"),
}
SPELLED = {"inch": "inches", "foot": "feet", "gallon": "gallons", "fluid_ounce": "fluid ounces", "degF": "°F"}
SPELLED |= {"degC": "°C", "minute": "minutes", "hour": "hours", "month": "months", "year": "years"}
SYSTEMS = {"inch": "inches", "foot": "inches", "yard": "inches", "millimeter": "metres", "centimeter": "metres"}
SYSTEMS |= {"meter": "metres"}
IN_SYSTEM = {"inches": ("in", "ft"), "metres": ("m", "cm", "mm", "L", "°C")}
"""Of the units tried, those that a sheet measured so writes; one in inches writes litres and gallons, °C and °F."""
ENOUGH, CLEARLY, LEAST_RATIO = 0.9, math.log(2), 1000
SURE, UNSAID = 0.9, 0.4
CONTAINERS = {"cartridge", "cartridges", "tube", "tubes", "kit", "kits", "pail", "pails"}
MARKED = "[\"'″′/½¼¾⅛⅜⅝⅞]"


class ReadAs(NamedTuple):
    """Filled cells, and the column of ours they are read as."""

    values: pl.Series
    name: str
    column: dy.Column
    mark: Mark


def spelled(unit: str) -> str:
    """A unit of a column map as it is said in a sentence: ``f`` is °F, ``in`` inches."""
    return SPELLED.get(UNITS.get(unit.lower(), ""), unit)


def number_clue(asked: ReadAs, heading: "Heading") -> Clue:
    """The unit that a header or its cells name, or in which alone the values are usual; else those to choose among."""
    target = contract_unit(asked.column)
    if asked.name not in USUAL:
        share = share_read(asked, "")
        return Clue(share, f"{share:.0%} are numbers")
    if CONTAINERS & set(heading.words):
        return Clue(1.0, "counts containers: say their size, as unit = 'cartridge of 300 ml'", sure=0.3)
    if heading.unit and share_read(asked, heading.unit):
        return _in_unit(asked, heading.unit, f"the header says {spelled(heading.unit)}")
    if (named := _named(asked)) and share_read(asked, named):
        return _in_unit(asked, named, f"its cells say {spelled(named)}", sure=SURE)
    return _usual(asked, target)


def _usual(asked: ReadAs, target: str) -> Clue:
    marked = target in {"m", "mm"} and bool(asked.values.str.contains(MARKED).any())
    tried = [unit for unit in TRIED[target] if unit in {"in", "ft"}] if marked else list(TRIED[target])
    usual = {unit: _usual_share(asked, unit) for unit in tried}
    unit = max(tried, key=lambda one: usual[one])
    if usual[unit] == 0:
        return _in_unit(asked, IN_A_MAP[target], f"taken as {IN_A_MAP[target]}", sure=0.5)
    fit = {one: _off(asked, one) for one in tried if usual[one] >= ENOUGH}
    if len(set(fit.values())) > 1:
        return _several(asked, fit, "inches" if marked else "")
    return _in_unit(asked, unit, f"its values are usual in {spelled(unit)}", sure=SURE)


def in_system(found: Clue, system: str) -> Clue:
    """A clue of several units settled by how the rest of the sheet is measured.

    It is left as it is where two units of that system are as near to what is usual, or one of the other is clearly
    nearer.
    """
    unit = _clearest({one: off for one, off in found.choices.items() if one in IN_SYSTEM.get(system, ())})
    rivals = [off for one, off in found.choices.items() if one != "cm"]  # which is seldom written without saying so
    if not unit or found.choices[unit] - min(rivals, default=0.0) >= CLEARLY:
        return found
    said = spelled(unit)
    return Clue(found.share, f"its values are usual in {said}, and the sheet measures in {system}", unit, sure=SURE)


def _several(asked: ReadAs, fit: Mapping[str, float], system: str) -> Clue:
    said = " and in ".join(map(spelled, fit))
    reason = f"its values are usual in {said}, and nothing says which; say it, as unit = '{next(iter(fit))}'"
    found = Clue(share_read(asked, next(iter(fit))), reason, next(iter(fit)), sure=UNSAID, choices=fit, system=system)
    return in_system(found, system)


def _clearest(fit: Mapping[str, float]) -> str:
    """The unit by which values lie clearly nearer to the middle of what is usual; empty where two are as near."""
    near = sorted(fit, key=lambda one: fit[one])
    return near[0] if len(near) == 1 or (near and fit[near[1]] - fit[near[0]] >= CLEARLY) else ""


def _off(asked: ReadAs, unit: str) -> float:
    """How far the middle value in a unit lies from the middle of what is usual: a logarithm; degrees by their range."""
    low, high = USUAL[asked.name]
    read = _read(asked, unit).cast(pl.Float64)
    middle = read.filter(read != 0).median()
    if not isinstance(middle, float):
        return 0.0
    if low < 0:
        return abs(middle - (low + high) / 2) / (high - low)
    return abs(math.log(abs(middle) / math.sqrt(max(low, high / LEAST_RATIO) * high)))


def _named(asked: ReadAs) -> str:
    """The one unit that cells write behind their number; empty where none or several are written."""
    ends = asked.values.str.extract(WITH_UNIT.pattern, 2).str.strip_chars().str.to_lowercase().str.strip_chars_end(".")
    words = [word for word in ends.drop_nulls().unique(maintain_order=True) if word in UNITS and word.isalpha()]
    return words[0] if len({UNITS[word] for word in words}) == 1 else ""


def share_read(asked: ReadAs, unit: str) -> float:
    """The share of the values that can be read in ``unit``; none where it is a unit of another kind."""
    try:
        read = _read(asked, unit)
    except MapError:
        return 0.0
    return 1 - read.null_count() / len(read)


def _read(asked: ReadAs, unit: str) -> pl.Series:
    """The values in a unit, with their thousands: the map will say the sheet's mark."""
    mark = None if asked.mark == "both" else asked.mark
    return typed(asked.values, asked.column, Written(unit=unit, loose=True, mark=mark), mark=asked.mark)[0]


def _usual_share(asked: ReadAs, unit: str) -> float:
    read = _read(asked, unit)
    low, high = USUAL[asked.name]
    return int(read.cast(pl.Float64).is_between(low, high).sum()) / len(read)


def _in_unit(asked: ReadAs, unit: str, reason: str, sure: float = 1.0) -> Clue:
    usual = _usual_share(asked, unit)
    odd = "" if usual >= ENOUGH else f"; only {usual:.0%} of them are usual"
    ours = scale(unit, contract_unit(asked.column)) == Scale(1.0)
    is_plain = ours and share_read(asked, "") == share_read(asked, unit)
    sure = sure if usual >= ENOUGH else sure * max(usual, 0.5)
    system = SYSTEMS.get(UNITS.get(unit.lower(), ""), "") if sure >= SURE else ""
    return Clue(share_read(asked, unit), reason + odd, "" if is_plain else unit, sure=sure, system=system)

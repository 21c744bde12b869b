"""What the values of a column say of how it is written: the unit, the order of a day, words, or that it is not ours."""

from collections.abc import Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING, NamedTuple

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import unit as contract_unit
from analytics.errors import MapError
from analytics.intake.maps.clue import Clue
from analytics.intake.maps.day_clues import day_clue
from analytics.intake.sheet import Mark, Written, plain
from analytics.intake.typing_cells import FALSE_WORDS, TRUE_WORDS, typed
from analytics.intake.units import Scale, scale

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
SAME = {"m": "m", "mm": "mm", "L": "L", "min": "min", "person-min": "min", "°C": "°C", "months": "months"}
"""The contract's unit in a column map's words."""
SPELLED = {"in": "inches", "ft": "feet", "gal": "gallons", "fl oz": "fluid ounces"}
ENOUGH, MOST_WORDS, ALIKE = 0.9, 60, 0.8
CONTAINERS = {"cartridge", "cartridges", "tube", "tubes", "kit", "kits", "pail", "pails"}
MARKED = "[\"'″′/½¼¾⅛⅜⅝⅞]"
# The business's words and ours: plain words of the trade, common practice, no source.
MEANT: dict[str, str] = {
    "done": "complete completed finished closed invoiced paid",
    "planned": "scheduled booked upcoming open_order sold won accepted",
    "quoted": "estimate estimated pending sent open quote bid",
    "lost": "declined rejected refused not_sold",
    "cancelled": "canceled void withdrawn",
    "open": "unfinished bare exposed none",
    "finished": "drywall framed behind_wall finished_basement",
    "tight": "crawl crawl_space crawlspace stairs stairwell",
    "vertical": "v vert",
    "horizontal": "h horiz",
    "diagonal": "d diag angled",
    "stepped": "s step stair_step stairstep",
    "damp": "moist",
    "seeping": "seep weeping dripping",
    "running": "flowing active_leak gushing",
    "still": "stable static dormant inactive",
    "seasonal": "cyclic cyclical",
    "growing": "active widening progressing",
    "epoxy": "ep epoxy_resin",
    "urethane_foam": "foam urethane polyurethane pu poly pu_foam",
    "leak_back": "leak leaked re_leak releak leaking leaked_again",
    "new_crack": "new different_crack other_crack",
    "condensation": "sweating humidity",
    "surface_only": "cosmetic surface efflorescence",
    "inject": "approved ok_to_inject proceed",
    "monitor": "watch observe",
    "do_nothing": "nothing no_action",
    "labour_hour": "labour labor labor_hour",
    "travel_hour": "travel driving",
    "epoxy_litre": "epoxy",
    "urethane_foam_litre": "foam urethane",
    "port_each": "port ports packer",
    "seal_kg": "seal paste surface_seal",
    "true": "x ✓ ✔ done ok",
    "false": "- not_done",
}


class _Asked(NamedTuple):
    """Filled cells, and the column of ours they are read as."""

    values: pl.Series
    name: str
    column: dy.Column
    mark: Mark


def clue(values: pl.Series, name: str, column: dy.Column, heading: "Heading", mark: Mark) -> Clue:
    """What the values say, read as ``column``.

    Args:
        values: filled cells, without spaces around them.
        name: our column's name.
        column: its declaration.
        heading: their header, which may name the unit.
        mark: the sheet's decimal mark.
    """
    asked = _Asked(values, name, column, mark)
    if values.is_empty():
        return Clue(0.5, "it is blank throughout", heading.unit if name in USUAL else "", sure=0.5)
    match column.dtype:
        case pl.Date():
            return day_clue(values)
        case pl.Enum() as words:
            return _word_clue(values, words.categories.to_list())
        case pl.Boolean():
            return _word_clue(values, ["true", "false"])
        case pl.String():
            return _text_clue(asked)
        case _:
            return _number_clue(asked, heading)


def _word_clue(values: pl.Series, ours: Sequence[str]) -> Clue:
    said = values.unique(maintain_order=True).to_list()
    known = {*ours, *((*TRUE_WORDS, *FALSE_WORDS) if "true" in ours else ())}
    if len(said) > MOST_WORDS:
        return Clue(0.0, f"{len(said)} different words")
    found = {theirs: _meant(theirs, ours) for theirs in said if plain(theirs) not in known}
    words = {theirs: word for theirs, word in found.items() if word}
    unsure = [theirs for theirs, word in found.items() if not word]
    share = 1 - int(values.is_in(unsure).sum()) / len(values)
    reason = (
        f"its words are {', '.join(ours)}" if not found else f"{len(said) - len(unsure)} of {len(said)} words are known"
    )
    return Clue(share, reason, words=words)


def _meant(theirs: str, ours: Sequence[str]) -> str | None:
    said = plain(theirs)
    for word in ours:
        if said in MEANT.get(word, "").split():
            return word
    near = get_close_matches(said, ours, n=1, cutoff=ALIKE)
    return near[0] if near else None


def _text_clue(asked: _Asked) -> Clue:
    share = _share(asked, "")
    alone = asked.values.n_unique() == len(asked.values)
    if asked.column.primary_key:
        return Clue(share if alone else share * 0.7, "every value is a code" + (" of its own" if alone else ""))
    return Clue(share, "text" if share == 1 else "text that is not all codes")


def _number_clue(asked: _Asked, heading: "Heading") -> Clue:
    target = contract_unit(asked.column)
    if asked.name not in USUAL:
        share = _share(asked, "")
        return Clue(share, f"{share:.0%} are numbers")
    if CONTAINERS & set(heading.words):
        return Clue(1.0, "counts containers: say their size, as unit = 'cartridge of 300 ml'", sure=0.3)
    if heading.unit and _share(asked, heading.unit):
        return _in_unit(asked, heading.unit, f"the header says {heading.unit}")
    marked = bool(asked.values.str.contains(MARKED).any())
    tried = [unit for unit in TRIED[target] if unit in {"in", "ft"}] if marked else list(TRIED[target])
    usual = {unit: _usual_share(asked, unit) for unit in tried}
    unit = max(tried, key=lambda one: usual[one])
    if usual[unit] == 0:
        return _in_unit(asked, SAME[target], f"taken as {SAME[target]}", sure=0.5)
    others = [other for other in tried if other != unit and usual[other] >= ENOUGH]
    also = f", and in {' and '.join(SPELLED.get(other, other) for other in others)}: check" if others else ""
    reason = f"its values are usual in {SPELLED.get(unit, unit)}{also}"
    return _in_unit(asked, unit, reason, sure=0.6 if others else 0.9)


def _share(asked: _Asked, unit: str) -> float:
    """The share of the values that can be read in ``unit``; none where it is a unit of another kind."""
    try:
        read = typed(asked.values, asked.column, Written(unit=unit, loose=True), mark=asked.mark)[0]
    except MapError:
        return 0.0
    return 1 - read.null_count() / len(read)


def _usual_share(asked: _Asked, unit: str) -> float:
    read = typed(asked.values, asked.column, Written(unit=unit, loose=True), mark=asked.mark)[0]
    low, high = USUAL[asked.name]
    return int(read.cast(pl.Float64).is_between(low, high).sum()) / len(read)


def _in_unit(asked: _Asked, unit: str, reason: str, sure: float = 1.0) -> Clue:
    usual = _usual_share(asked, unit)
    odd = "" if usual >= ENOUGH else f"; only {usual:.0%} of them are usual"
    ours = scale(unit, contract_unit(asked.column)) == Scale(1.0)
    said = "" if ours and not asked.values.str.contains(MARKED).any() else unit
    return Clue(_share(asked, unit), reason + odd, said, sure=sure if usual >= ENOUGH else sure * max(usual, 0.5))

"""What the values of a column say of how it is written: the unit, the order of a day, words, or that it is not ours."""

from collections.abc import Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING

import dataframely as dy
import polars as pl

from analytics.contract import words as said_in
from analytics.contract.tables import RATE_ITEMS
from analytics.intake.maps.clue import Clue
from analytics.intake.maps.day_clues import UNSURE, day_clue
from analytics.intake.maps.number_clues import USUAL, ReadAs, number_clue, share_read
from analytics.intake.pricing_units import is_sold_by, other_unit, taken_apart
from analytics.intake.sheet import Mark, plain
from analytics.intake.typing_cells import FALSE_WORDS, TRUE_WORDS

if TYPE_CHECKING:
    from analytics.intake.maps.headings import Heading

MOST_WORDS, ALIKE, MOST_CODES = 60, 0.8, 0.5
MOST_NAMED, LONGEST_NAMED = 5, 24
NO_CODES = (
    "its values are no numbers or codes without spaces, such as A-102; write them so, or say keyed = true wherever the "
    "map names them to have a code of ours in the place of each"
)
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
    "still": "stable static dormant inactive no_movement not_moving",
    "seasonal": "cyclic cyclical",
    "growing": "active widening progressing",
    "epoxy": "ep epoxy_resin",
    "urethane_foam": "foam urethane polyurethane pu poly pu_foam poly_foam",
    "leak_back": "leak leaked re_leak releak leaking leaked_again leak_again leaks_again leaking_again",
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


def clue(values: pl.Series, name: str, column: dy.Column, heading: "Heading", mark: Mark) -> Clue:
    """What the values say, read as ``column``.

    Args:
        values: filled cells, without spaces around them.
        name: our column's name.
        column: its declaration.
        heading: their header, which may name the unit.
        mark: the sheet's decimal mark.
    """
    asked = ReadAs(values, name, column, mark)
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
            return number_clue(asked, heading)


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
    return Clue(share, f"{reason}{_not_known(unsure)}", words=words)


def _not_known(unsure: Sequence[str]) -> str:
    """The words that somebody must give a meaning, where they are few and short, as words of the trade are."""
    few = len(unsure) <= MOST_NAMED and all(len(word) <= LONGEST_NAMED for word in unsure)
    return f", not {said_in.listed([f'“{word}”' for word in unsure])}" if unsure and few else ""


def _meant(theirs: str, ours: Sequence[str]) -> str | None:
    if tuple(ours) == RATE_ITEMS and (unit := taken_apart(theirs)[1]):
        item = _meant(taken_apart(theirs)[0], ours)
        if item is None or not is_sold_by(item, unit):
            return None
        return f"{item} per {unit}" if other_unit(item, theirs) else item
    said = plain(theirs)
    for word in ours:
        if said in MEANT.get(word, "").split():
            return word
    near = get_close_matches(said, ours, n=1, cutoff=ALIKE)
    return near[0] if near else None


def _text_clue(asked: ReadAs) -> Clue:
    share = share_read(asked, "")
    alone = asked.values.n_unique() == len(asked.values)
    if asked.name == "job_id" and share < MOST_CODES:
        return Clue(share, NO_CODES, sure=UNSURE)
    if asked.column.primary_key:
        return Clue(share if alone else share * 0.7, "every value is a code" + (" of its own" if alone else ""))
    return Clue(share, "text" if share == 1 else "text that is not all codes")

"""What a gap in the records costs the estimates, in sentences without their full stop."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analytics.contract import words
from analytics.contract.descriptions import label, unit
from analytics.contract.tables import TABLES
from analytics.decisions.changed_meaning import IN_DEGREES, Jump
from analytics.decisions.quiet_months import Gap

UNITS = {name: unit(column) for table in ("jobs", "cracks") for name, column in TABLES[table].columns().items()}


@dataclass(frozen=True)
class Need:
    """An estimate, what it counts, what is wanting where one cannot be used, and what that does to it."""

    words: str
    one: str
    without: str
    cost: str


NEEDS: Mapping[str, Need] = {
    "material_per_metre": Need(
        "resin per metre", "crack", "without litres or length", "resin per metre rests on {share} of the work"
    ),
    "take_ratio": Need(
        "take ratio",
        "crack",
        "without litres, width, wall or length",
        "the take ratio rests on {share} of the work",
    ),
    "labour_per_crack": Need(
        "labour per crack", "crack", "without minutes", "labour per crack rests on {share} of the work"
    ),
    "labour_per_metre": Need(
        "labour per metre", "crack", "without minutes or length", "labour per metre rests on {share} of the work"
    ),
    "by_resin": Need(
        "materials compared", "crack", "with no resin written down", "materials are compared on {share} of the work"
    ),
    "by_water": Need(
        "risk by water",
        "crack",
        "with no water written down",
        "the risk of a wet crack rests on {share} of the work",
    ),
    "by_width": Need(
        "risk by width",
        "crack",
        "with no width written down",
        "the risk of a wide crack rests on {share} of the work",
    ),
    "by_movement": Need(
        "risk by movement",
        "crack",
        "with no movement written down",
        "the risk cannot tell a moving crack from a still one among them",
    ),
    "habits": Need(
        "how crews work",
        "crack",
        "with cleaned, dried or water-tested not written down",
        "how crews work is known on {share} of the work",
    ),
    "charged": Need("prices charged", "job", "without the price charged", "prices are compared on {share} of the jobs"),
    "travel": Need("travel", "job", "without travel", "the cost of travel rests on {share} of the jobs"),
    "findings": Need("findings", "call", "not looked at yet", "any of them may be a leak-back that no rate counts"),
    "leak_back_cost": Need(
        "cost of a leak-back",
        "leak-back",
        "without minutes or material",
        "the cost of a leak-back rests on {share} of them",
    ),
    "placed": Need(
        "which crack leaked",
        "leak-back",
        "with no crack named",
        "placed by rule on the wettest crack of the job, so rates by crack lean on that rule",
    ),
}


def cost_words(need: Need, rows: int, usable: int) -> str:
    """``412 cracks without litres: resin per metre rests on 94 % of the work``."""
    if usable == rows:
        return f"{need.words}: nothing is missing"
    share = "less than 1 %" if 0 < usable < rows / 100 else words.percent(_whole(usable, rows), 0)
    return f"{words.counted(rows - usable, need.one)} {need.without}: {need.cost.format(share=share)}"


def _whole(usable: int, rows: int) -> float:
    """The share in whole percent, never 100 % where something is wanting."""
    return min(round(usable / rows, 2), 0.99)


_LOST: Mapping[str, str] = {
    "quoted": "no quote {when} ({usual} usual): the share of quotes won says nothing about that time",
    "done": "no work finished {when} ({usual} usual): if there was some, every rate rests on the rest",
    "called": "no call {when} ({usual} usual): if calls came and were not written down, leak-back rates read low",
}


def gap_words(gap: Gap) -> str:
    """What a gap is and what it costs, in a sentence without its full stop."""
    first, last = f"{gap.first_month:%B %Y}", f"{gap.last_month:%B %Y}"
    when = f"in {first}" if gap.months == 1 else f"from {first} to {last}"
    return _LOST[gap.kind].format(when=when, usual=words.counted(max(round(gap.usual), 1), "is", "are"))


_TWIN_COSTS: Mapping[str, str] = {
    "job_id": "if they are one job, its cracks and price are counted twice",
    "crack_id": "if they are one crack, it is counted twice in every rate",
    "callback_id": "if they are one call, its cost is counted twice",
    "review_id": "if they are one review, the later spelling may hide the earlier",
    "crew_id": "if they are one crew, each of its figures rests on a part of its work",
    "branch": "if they are one branch, each of its figures rests on a part of its work",
}


def twin_words(row: Mapping[str, Any]) -> str:
    """Which codes look like one, and what it costs if they are."""
    return f"{row['spellings']}: {_TWIN_COSTS[row['column_name']]}"


def jump_words(jump: Jump) -> str:
    """A jump in a sentence: the medians, the change with its interval, and what to look at."""
    in_unit, change = UNITS[jump.column], words.estimate(jump.change, jump.low, jump.high, 2)
    digits = words.digits_for([jump.median_before, jump.median_after])
    before, after = (words.number(value, digits, in_unit) for value in (jump.median_before, jump.median_after))
    by = f"by {change} °C" if jump.column in IN_DEGREES else f"{change} times"
    return (
        f"{label(jump.column)}: the middle job went from {before} in {jump.year_before} to {after} in "
        f"{jump.year_after}, {by}; look whether the unit or the meaning changed"
    )

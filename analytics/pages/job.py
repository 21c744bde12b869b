"""One planned job: each crack drawn, what it needs and why, its risk and what goes into it."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

import polars as pl

from analytics.answers.explaining import Explanation, explain
from analytics.answers.flagging import Flags
from analytics.charts.drawing import VOID_DIGITS, Crack, describe_crack, draw_crack
from analytics.charts.palette import ACTION_MARKS
from analytics.contract import words
from analytics.contract.descriptions import crew_said, label, unit
from analytics.contract.references import safety_lines
from analytics.contract.rules import DO_NOT_INJECT
from analytics.contract.tables import TABLES
from analytics.decisions.triage import Flag
from analytics.errors import UnknownNameError
from analytics.pages import explained
from analytics.pages.page import Caution, Drawing, Figure, Figures, Folded, Page, Part, ReasonLine, Reasons, Section
from analytics.pages.practice import apart
from analytics.takeoff.ports import port_count, port_positions_mm
from analytics.takeoff.volumes import seal_millilitres, void_litres

Facts = Mapping[str, Any]
MEASURED: Mapping[str, int | None] = {
    "direction": None,
    "length_m": 2,
    "width_mm": 2,
    "wall_thickness_mm": None,
    "offset_mm": 1,
    "water": None,
    "movement": None,
    "wall_temp_c": None,
    "resin": None,
    "port_spacing_mm": None,
}
"""What is said of a crack before the work, in order, and the digits of a number; None for as many as it has."""
PLANNED = ("resin", "port_spacing_mm")
"""Which of these are decided for the injection, and nothing where none may be made."""
LENGTHS = ("m", "mm")
ACTION_SAID = {
    "engineer_review": "an engineer looks first",
    "measure_first": "it must be measured first",
    "extra_prep": "it needs extra prep",
    "standard": "nothing beyond the standard steps",
}
"""What comes first, of a crack that is one to inject or waits to be looked at."""
PRESSING = tuple(ACTION_MARKS)


def build(found: Flags, job_id: str, by_hand: Mapping[str, tuple[Folded, ...]] | None = None) -> Page:
    """The job ``job_id`` with each of its cracks; ``by_hand`` are the forms of each crack, by its number."""
    cracks = of_job(found, job_id)
    facts = cracks[0][1]
    crew = f", {crew_said(facts['crew_id'])}" if facts["crew_id"] else ""
    more = _more(explain(found, job_id), found.months, by_hand or {})
    return Page(
        answer=f"Job {job_id}, planned for {words.day(facts['planned_on'])}{crew}: "
        f"{words.counted(len(cracks), 'crack')}; {first_said([flag for flag, _ in cracks])}.",
        parts=(
            *(_crack(found, each, f"Crack {place} of {len(cracks)}", more) for place, each in enumerate(cracks, 1)),
            *(Caution(line.says, line.source) for line in safety_lines(facts["resin"] for _, facts in cracks)),
        ),
    )


def _more(
    why: Explanation, months: int, by_hand: Mapping[str, tuple[Folded, ...]]
) -> Callable[[str], tuple[Part, ...]]:
    """What stands under a crack's figures: why its risk is what it is, what would change it, and its forms."""
    return lambda crack_id: (
        *explained.parts(why, crack_id, months),
        *by_hand.get(crack_id, ()),
    )


def _crack(found: Flags, crack: tuple[Flag, Facts], place: str, more: Callable[[str], tuple[Part, ...]]) -> Section:
    flag, facts = crack
    injected = flag.needs != DO_NOT_INJECT
    parts = (*reasons(flag), figures(found, flag, facts, injected=injected), *more(flag.crack_id))
    return Section(f"{place}: {flag.crack_id}", parts, aside=drawing(facts, injected=injected))


def first_said(flags: Sequence[Flag]) -> str:
    """What comes first on a job of these cracks, by the most pressing of them."""
    needs = min((flag.needs for flag in flags), key=PRESSING.index)
    if needs == DO_NOT_INJECT:
        return f"do not inject {words.listed([flag.crack_id for flag in flags if flag.needs == needs])}"
    return ACTION_SAID[needs]


def crack_said(flag: Flag) -> str:
    """What comes first of one crack."""
    if flag.needs == DO_NOT_INJECT:
        return "an engineer decided not to inject" if flag.declined else "not one to inject as it is"
    return ACTION_SAID[flag.needs]


def of_job(found: Flags, job_id: str) -> list[tuple[Flag, Facts]]:
    """Each crack of the planned job with its flag and facts, by its number; UnknownNameError where there is none."""
    facts = {row["crack_id"]: row for row in found.planned.filter(pl.col("job_id") == job_id).to_dicts()}
    if not facts:
        raise UnknownNameError("planned job", job_id, found.planned["job_id"].unique())
    flags = sorted((flag for flag in found.flags if flag.job_id == job_id), key=lambda flag: flag.crack_id)
    return [(flag, facts[flag.crack_id]) for flag in flags]


def reasons(flag: Flag) -> tuple[Reasons, ...]:
    """Why a crack is flagged and what to do, and what to know beside; nothing where it is standard."""
    why = tuple(
        ReasonLine(r.text, do=r.do, source=r.source, action="" if r.cleared else r.action) for r in flag.reasons
    )
    know = tuple(ReasonLine(note.text, do=note.do, source=note.source) for note in flag.notes)
    said = (("Why, and what to do", why), ("To know", know))
    return tuple(Reasons(title, lines) for title, lines in said if lines)


def figures(found: Flags, flag: Flag, facts: Facts, *, injected: bool = True) -> Figures:
    """What was measured and the risk; where it may be ``injected``, what is planned and what geometry makes of it."""
    note = f"{words.level(found.level)} interval" if flag.risk is not None else found.said or "not known"
    risk = Figure(
        f"leak-back within {found.months} months", flag.risk, flag.low, flag.high, kind="percent", digits=1, note=note
    )
    planned = (*map(_at_most, measured(facts)), *_take_off(facts))
    return Figures((risk, *(planned if injected else measured(facts, without=PLANNED))))


def figures_on_paper(found: Flags, flag: Flag, facts: Facts, *, injected: bool = True) -> Figures:
    """The same, short enough for a sheet: a note only where there is no value, and at the risk, whose level it says."""
    risk, *rows = figures(found, flag, facts, injected=injected).rows
    return Figures((risk, *map(_on_paper, rows)))


def _on_paper(row: Figure) -> Figure:
    """Without its note; where there is no value and nothing says why, that it is not recorded."""
    if row.value is not None:
        return replace(row, note="")
    return row if row.note else replace(row, value="not recorded", kind="text")


def _at_most(row: Figure) -> Figure:
    """The spacing that is planned is the widest; the ports, spread evenly, come to lie closer."""
    return replace(row, label=f"{row.label} at most") if row.label == label("port_spacing_mm") else row


def measured(facts: Facts, without: Collection[str] = ()) -> tuple[Figure, ...]:
    """What was measured of a crack and decided before the work."""
    return tuple(_measured(name, facts[name], digits) for name, digits in MEASURED.items() if name not in without)


def _measured(name: str, value: Any, digits: int | None) -> Figure:  # noqa: ANN401 - a number or a word of a list
    said = words.word(value) if isinstance(value, str) else value
    in_unit = unit(TABLES["cracks"].columns()[name])
    return Figure(label(name), said, kind="size" if in_unit in LENGTHS else "number", unit=in_unit, digits=digits)


def _take_off(facts: Facts) -> tuple[Figure, ...]:
    figures = []
    length, spacing = facts["length_m"], facts["port_spacing_mm"]
    if length and spacing:
        figures.append(ports(length, spacing))
    if length and facts["width_mm"] and facts["wall_thickness_mm"]:
        figures.append(void(void_litres(facts["width_mm"], facts["wall_thickness_mm"], length)))
    if length:
        figures.append(Figure("surface seal", seal_millilitres(length) / 1000, unit="L", digits=2))
    return tuple(figures)


def ports(length_m: float | None, spacing_mm: float | None) -> Figure:
    """How many ports, and how far apart they come to lie, which the drawing says too."""
    if not length_m or not spacing_mm:
        return Figure("ports", None)
    note = f"one at each end, {apart(length_m, spacing_mm)}, within the spacing"
    return Figure("ports", port_count(length_m, spacing_mm), note=note)


def void(litres: float | None) -> Figure:
    """What the crack holds."""
    return Figure("void to fill", litres, unit="L", digits=VOID_DIGITS, note="width × thickness × length")


def drawing(facts: Facts, *, injected: bool = True) -> Drawing | None:
    """The crack to scale; None where its direction or length is not known, or it is no crack of a poured wall.

    Its ports and what it holds are drawn where it may be ``injected``.
    """
    if facts["direction"] not in {"vertical", "diagonal", "horizontal"} or not facts["length_m"]:
        return None
    length, spacing = facts["length_m"], facts["port_spacing_mm"]
    width, wall = facts["width_mm"], facts["wall_thickness_mm"]
    crack = Crack(
        direction=facts["direction"],
        length_m=length,
        ports_mm=port_positions_mm(length, spacing) if spacing and injected else (),
        wall_thickness_mm=wall,
        width_mm=width,
        void_litres=void_litres(width, wall, length) if width and wall and injected else None,
    )
    return Drawing(draw_crack(crack), describe_crack(crack))

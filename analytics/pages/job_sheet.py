"""The job sheet a crew takes along: drawing, ports, resin, steps, why it is flagged, and boxes for what was done.

Of a crack that is not to be injected, or not yet, it says what to do and what to measure, and nothing of injecting.

Two cracks a sheet where they can be read on one, else one, each sheet whole: a job of more cracks goes on to another.
One of which more is said than a sheet holds, six reasons and more, runs on at full size.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from analytics.answers.flagging import Flags
from analytics.charts.palette import ACTION_MARKS
from analytics.contract import words
from analytics.contract.bounds import QUOTE_LEVEL
from analytics.contract.descriptions import crew_said, label, unit
from analytics.contract.references import Reference, reference, safety_lines
from analytics.contract.rules import DO_NOT_INJECT
from analytics.contract.tables import TABLES
from analytics.decisions.quote import Span
from analytics.decisions.triage import Flag
from analytics.pages import job
from analytics.pages.job import PRESSING, Facts, first_said
from analytics.pages.page import Caution, Document, Figure, Figures, Page, Part, Section, Words
from analytics.pages.practice import instead, steps
from analytics.pages.sheet import Blank, Blanks

NO_LITRES: Mapping[str, Span] = MappingProxyType({})
CRACKS_A_SHEET = 2
OF_THE_RESIN = "epoxy_class"
"""The note that says which resin to bring."""
LOOKING = ("strength", "screening_aid")
"""The cautions of a sheet on which nothing is injected."""
STOPS = {
    "engineer_review": "Stop: an engineer looks first. Do not inject before the decision is recorded",
    "measure_first": "Measure first: nothing is injected before it is measured and looked at again",
}
DECLINED = "Stop: an engineer decided that this is not injected"
NOT_AS_IT_IS = "Stop: not one to inject as it is. Do not inject; do what is said of it"
AGAINST_A_DECISION = (
    "Stop: an engineer decided to inject, and as measured it is not one to inject. Measure it again, and ask"
)


def _actual(column: str, says: str = "") -> Blank:
    return Blank(says or label(column), unit(TABLES["cracks"].columns()[column]))


ACTUALS = (
    Blank("ports used"),
    _actual("resin_litres"),
    Blank("minutes worked, all people together"),
    _actual("wall_temp_c", "wall"),
    _actual("port_spacing_mm", "spacing as set"),
    Blank("cleaned", tick=True),
    Blank("dried", tick=True),
    Blank("water tested", tick=True),
)
"""What the records ask for when a crack is done, in the columns' own units and the order that a form asks for it.

The boxes are narrow and read on site: the wall's temperature is "wall" there, the spacing that of the ports, labour in
person-minutes said in plain words.
"""
TAKES = f"resin, and what {10 * QUOTE_LEVEL:g} of 10 such cracks took"
SITE = (Blank("site address, written in by hand: the records hold none", wide=True), Blank("stop and ask"))
"""Where to go, and whom to ask when something is not as planned."""
NOW = (_actual("width_mm", "width now"), _actual("offset_mm", "offset now"))
"""What is measured again of every crack on the day."""
ASKED = ("direction", "length_m", "wall_thickness_mm", "water", "movement")
"""What is measured too of a crack of which it is not recorded."""
LOOKED = (Blank("what was found", wide=True), Blank("looked at on"), Blank("signature"))
SIGNED = (Blank("what was different, and why", wide=True), Blank("done on"), Blank("signature"))
Cracks = Sequence[tuple[Flag, Facts]]


@dataclass(frozen=True)
class _Job:
    """All cracks of the job, whichever of them a sheet is for."""

    found: Flags
    cracks: Cracks
    litres: Mapping[str, Span]

    @property
    def flags(self) -> list[Flag]:
        return [flag for flag, _ in self.cracks]


def build(found: Flags, job_id: str, about: str = "", *, litres: Mapping[str, Span] = NO_LITRES) -> Document:
    """The sheets of one planned job; UnknownNameError where it is not planned.

    ``litres`` are what its cracks take, by their numbers, with ends at the level of a quote's.
    """
    whole = _Job(found, job.of_job(found, job_id), litres)
    pages = tuple(_together(whole, cracks) for cracks in _in_twos(whole.cracks))
    return Document(f"Job sheet {job_id}", pages, about, found.as_of, one_sheet=True)


def _in_twos(cracks: Cracks) -> list[Cracks]:
    return [cracks[place : place + CRACKS_A_SHEET] for place in range(0, len(cracks), CRACKS_A_SHEET)]


def _together(whole: _Job, cracks: Cracks) -> Page:
    """Cracks on one sheet, and the same on a sheet each, should they be too small there."""
    apart = tuple(_sheet(whole, (crack,)) for crack in cracks) if len(cracks) > 1 else ()
    return replace(_sheet(whole, cracks), apart=apart)


def _sheet(whole: _Job, cracks: Cracks) -> Page:
    """The sheet of these cracks; what comes first and what stops the work is said of all cracks of the job."""
    injected = [facts for flag, facts in cracks if flag.injectable]
    waiting = [flag for flag, _ in cracks if not flag.injectable]
    return Page(
        answer=_answer(whole, cracks),
        parts=(
            *(replace(stop, tone="stop") for stop in stops(whole.flags)),
            Words(_about(cracks[0][1]), tone="muted"),
            Blanks("Where, and whom to ask", SITE),
            *(_crack(whole, flag, each) for flag, each in cracks),
            *((instead(waiting),) if waiting else ()),
            *((steps(injected, only=not all(flag.injectable for flag in whole.flags)),) if injected else ()),
            _measured(cracks),
            *((Blanks("Written down on the day", ACTUALS, _names(injected)),) if injected else ()),
            Blanks("For the records", SIGNED if injected else LOOKED),
            *(Caution(line.says, line.source) for line in _cautions(injected)),
        ),
    )


def _cautions(injected: Sequence[Facts]) -> Iterable[Reference]:
    """Those of the resins planned, where any is; else those of looking."""
    return safety_lines(facts["resin"] for facts in injected) if injected else map(reference, LOOKING)


def _names(cracks: Iterable[Facts]) -> tuple[str, ...]:
    return tuple(str(facts["crack_id"]) for facts in cracks)


def _measured(cracks: Cracks) -> Blanks:
    """Boxes for what is measured on the day, and for what nobody has recorded yet."""
    every = [facts for _, facts in cracks]
    asked = (_actual(name) for name in ASKED if any(facts[name] is None for facts in every))
    return Blanks("Measured on the day", (*NOW, *asked), _names(every))


def _answer(whole: _Job, cracks: Cracks) -> str:
    facts = cracks[0][1]
    planned = facts["planned_on"]
    when = f"{planned:%A} {words.full_day(planned)}" if planned else "no day set"
    crew = f", {crew_said(facts['crew_id'])}" if facts["crew_id"] else ", no crew set"
    here, every = words.listed(_names(each for _, each in cracks)), len(whole.cracks)
    sheet = f"; this sheet: {here} of {words.counted(every, 'crack')}" if len(cracks) < every else ""
    return f"Job {facts['job_id']}, {when}{crew}: {first_said(whole.flags)}{sheet}."


def _about(facts: Facts) -> str:
    said = [f"branch {facts['branch']}"] if facts["branch"] else []
    said += [f"access {words.word(facts['access'])}"] if facts["access"] else []
    said += [f"earlier leak-backs at this site: {facts['site_leak_backs']}"]
    return words.capital(" · ".join(said))


def stops(flags: Iterable[Flag]) -> tuple[Words, ...]:
    """A line for each thing that keeps cracks from being injected, with their numbers."""
    named: dict[str, list[str]] = {}
    for flag in sorted(flags, key=lambda flag: PRESSING.index(flag.needs)):
        if stop := _stop(flag):
            named.setdefault(f"{ACTION_MARKS[flag.needs].mark} {stop}", []).append(flag.crack_id)
    return tuple(Words(f"{stop}: {', '.join(names)}.", tone="strong") for stop, names in named.items())


def _stop(flag: Flag) -> str:
    """What keeps a crack from being injected; empty where nothing does."""
    if flag.needs == DO_NOT_INJECT:
        is_cleared = any(each.cleared for each in flag.reasons)
        return DECLINED if flag.declined else AGAINST_A_DECISION if is_cleared else NOT_AS_IT_IS
    return STOPS.get(flag.needs, "")


def _crack(whole: _Job, flag: Flag, facts: Facts) -> Section:
    said = ACTION_MARKS[flag.needs]
    figures = job.figures_on_paper(whole.found, flag, facts, injected=flag.injectable)
    litres = whole.litres.get(flag.crack_id)
    if litres is not None and flag.injectable:
        takes = Figure(TAKES, litres.expected, litres.low, litres.high, unit="L", digits=2)
        figures = Figures((*figures.rows, takes))
    parts: tuple[Part, ...] = (figures, *job.reasons(flag if flag.injectable else _without_resin(flag)))
    title = f"Crack {flag.crack_id}: {said.mark} {said.word}".replace("  ", " ")
    return Section(title, parts, aside=job.drawing(facts, injected=flag.injectable))


def _without_resin(flag: Flag) -> Flag:
    return replace(flag, notes=tuple(note for note in flag.notes if note.rule != OF_THE_RESIN))

"""The sheet that goes to an engineer: what was measured, why it is asked, what is asked, and boxes for the decision."""

from collections.abc import Sequence
from datetime import date

from analytics.answers.flagging import ENGINEER, Flags
from analytics.contract import words
from analytics.contract.references import reference
from analytics.decisions.reasons import Reason
from analytics.decisions.triage import Flag
from analytics.errors import LeakbackError
from analytics.pages import job
from analytics.pages.job import Facts
from analytics.pages.page import Caution, Document, Figure, Figures, Page, Part, ReasonLine, Reasons, Section, Words
from analytics.pages.sheet import Blank, Blanks, Step, Steps

ASKED = (
    "Is this crack, as measured, one that may be injected as planned (resin, ports and spacing as above)?",
    "If not: how is it to be repaired, or is it to be watched or left?",
    "What is the cause, and must it be put right first?",
    "Does the repair have to carry load? Then name the resin, its category (EN 1504-5) and the test wanted.",
    "Anything else to be measured or opened up before you can decide?",
)
DECISIONS = (
    Blank("inject", tick=True),
    Blank("repair otherwise", tick=True),
    Blank("monitor", tick=True),
    Blank("do nothing", tick=True),
    Blank("conditions, or how else to repair", wide=True),
)
"""The decisions the records know, in their own words."""
ENGINEERED = (Blank("engineer", wide=True), Blank("licence no."), Blank("decided on"), Blank("signature", wide=True))
ASKING = (Blank("business", wide=True), Blank("person", wide=True), Blank("telephone or e-mail", wide=True))
"""Written in by hand: the records hold no one's name, and nobody is called back without it."""
SITE = (Blank("site address, and who lets you in (written in by hand: the records hold neither)", wide=True),)
SEEN = (
    Blank("lower end above the floor", "m"),
    Blank("upper end above the floor", "m"),
    Blank("backfilled side, and how high"),
    Blank("photographs enclosed"),
)
"""What an engineer asks about first and the records do not hold (common practice, no source)."""
BACK = (
    "Please send this sheet back, under its reference number, to who asks, named above. The decision is entered in the "
    "records as it stands, and no crack named here is injected before it says so."
)
Cracks = Sequence[tuple[Flag, Facts]]


def build(found: Flags, job_id: str, about: str = "") -> Document:
    """The referral of one planned job: its cracks that an engineer looks at first.

    UnknownNameError where the job is not planned; LeakbackError where none of its cracks waits for an engineer.
    """
    cracks = [(flag, facts) for flag, facts in job.of_job(found, job_id) if flag.needs == ENGINEER]
    if not cracks:
        raise LeakbackError(f"job {job_id}: no crack of it waits for an engineer; see why with: leakback flags --all")
    asked_on = _asked_on(cracks)
    number = _reference(job_id, cracks, asked_on or found.as_of)
    names = tuple(flag.crack_id for flag, _ in cracks)
    page = Page(
        answer=f"Job {job_id}: {words.counted(len(cracks), 'crack')} for an engineer to look at before anyone injects.",
        parts=(
            _facts(found, number, cracks[0][1], asked_on),
            Blanks("Who asks", ASKING),
            Blanks("Where", SITE),
            *(_crack(found, flag, facts) for flag, facts in cracks),
            Blanks("Seen on site", SEEN, names),
            Steps("What is asked", tuple(Step(question) for question in ASKED)),
            Blanks("The decision", DECISIONS, names),
            Blanks("Decided by", ENGINEERED),
            Words(BACK),
            *(Caution(line.says, line.source) for line in map(reference, ("screening_aid", "strength"))),
        ),
    )
    return Document(f"Engineer's referral {number}", (page,), about, found.as_of, one_sheet=True)


def _asked_on(cracks: Cracks) -> date | None:
    """The day the engineer was asked, of what is not answered yet; the first where it was on several."""
    days = [facts["asked_on"] for _, facts in cracks if facts["asked_on"] and not facts["decided_on"]]
    return min(days, default=None)


def _reference(job_id: str, cracks: Cracks, day: date | None) -> str:
    """The number an open question has in the records; else the job's and the day asked, which stays the same with it.

    Where nothing says that it was asked, it is asked now: ``day`` is that the records reach.
    """
    given = [facts["reference"] for _, facts in cracks if facts["reference"] and not facts["decided_on"]]
    own = f"{job_id}/{day}" if day else job_id
    return str(given[0]) if given else own


def _facts(found: Flags, number: str, facts: Facts, asked_on: date | None) -> Figures:
    planned = facts["planned_on"]
    asked = (Figure("asked on", words.full_day(asked_on), kind="text"),) if asked_on else ()
    return Figures(
        (
            Figure("reference number", number, kind="text"),
            *asked,
            Figure("records to", words.full_day(found.as_of), kind="text"),
            Figure("work planned for", words.full_day(planned) if planned else "no day set", kind="text"),
            Figure("earlier leak-backs at this site", facts["site_leak_backs"]),
        )
    )


def _crack(found: Flags, flag: Flag, facts: Facts) -> Section:
    """A crack as measured, why the engineer is asked and what to know beside, without what a crew is told to do."""
    asking = [each for each in flag.reasons if each.action == ENGINEER and not each.cleared]
    beside = [*(each for each in flag.reasons if each not in asking), *flag.notes]
    figures = job.figures_on_paper(found, flag, facts)
    parts: tuple[Part, ...] = (figures, *_said("Why you are asked", asking), *_said("To know", beside))
    return Section(f"Crack {flag.crack_id}", parts, aside=job.drawing(facts))


def _said(title: str, said: Sequence[Reason]) -> tuple[Reasons, ...]:
    lines = tuple(ReasonLine(each.text, source=each.source, action=_mark(each)) for each in said)
    return (Reasons(title, lines),) if lines else ()


def _mark(reason: Reason) -> str:
    return "" if reason.cleared or reason.action == "note" else reason.action

"""The sheet that goes to an engineer: what was measured, why it is asked, what is asked, and boxes for the decision."""

from dataclasses import replace

from analytics.answers.flagging import ENGINEER, Flags
from analytics.contract import words
from analytics.contract.references import reference
from analytics.decisions.triage import Flag
from analytics.errors import LeakbackError
from analytics.pages import job
from analytics.pages.job import Facts
from analytics.pages.page import Caution, Document, Figure, Figures, Page, Reasons, Section, Words
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
SITE = (Blank("site address, and who lets you in (written in by hand: the records hold neither)", wide=True),)
BACK = (
    "Please send this sheet back under its reference number. The decision is entered in the records as it stands, and "
    "no crack named here is injected before it says so."
)


def build(found: Flags, job_id: str, about: str = "") -> Document:
    """The referral of one planned job: its cracks that an engineer looks at first.

    UnknownNameError where the job is not planned; LeakbackError where none of its cracks waits for an engineer.
    """
    cracks = [(flag, facts) for flag, facts in job.of_job(found, job_id) if flag.needs == ENGINEER]
    if not cracks:
        raise LeakbackError(f"job {job_id}: no crack of it waits for an engineer; see why with: leakback flags --all")
    number = _reference(found, job_id, cracks)
    page = Page(
        answer=f"Job {job_id}: {words.counted(len(cracks), 'crack')} for an engineer to look at before anyone injects.",
        parts=(
            _facts(found, number, cracks[0][1]),
            Blanks("Where", SITE),
            *(_crack(found, flag, facts) for flag, facts in cracks),
            Steps("What is asked", tuple(Step(question) for question in ASKED)),
            Blanks("The decision", DECISIONS, tuple(flag.crack_id for flag, _ in cracks)),
            Blanks("Decided by", ENGINEERED),
            Words(BACK),
            *(Caution(line.says, line.source) for line in map(reference, ("screening_aid", "strength"))),
        ),
    )
    return Document(f"Engineer's referral {number}", (page,), about, found.as_of, one_sheet=True)


def _reference(found: Flags, job_id: str, cracks: list[tuple[Flag, Facts]]) -> str:
    """The number the question already has in the records; else the job's and the day the records reach, if any."""
    given = [facts["reference"] for _, facts in cracks if facts["reference"]]
    own = f"{job_id}/{found.as_of}" if found.as_of else job_id
    return str(given[0]) if given else own


def _facts(found: Flags, number: str, facts: Facts) -> Figures:
    planned = facts["planned_on"]
    return Figures(
        (
            Figure("reference number", number, kind="text"),
            Figure("records to", words.full_day(found.as_of), kind="text"),
            Figure("work planned for", words.full_day(planned) if planned else "no day set", kind="text"),
            Figure("earlier leak-backs at this site", facts["site_leak_backs"]),
            *_asked(facts),
        )
    )


def _asked(facts: Facts) -> tuple[Figure, ...]:
    return (Figure("asked on", words.full_day(facts["asked_on"]), kind="text"),) if facts["asked_on"] else ()


def _crack(found: Flags, flag: Flag, facts: Facts) -> Section:
    """A crack as measured, and the reasons with their sources; what a crew is told to do is left out."""
    why = tuple(Reasons(said.title, tuple(replace(row, do="") for row in said.rows)) for said in job.reasons(flag))
    titled = tuple(replace(said, title="Why you are asked") if place == 0 else said for place, said in enumerate(why))
    figures = job.figures_on_paper(found, flag, facts)
    return Section(f"Crack {flag.crack_id}", (figures, *titled), aside=job.drawing(facts))

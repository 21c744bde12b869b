"""Record by hand: what waits to be written down, and the forms for it; one job as it stands."""

from dataclasses import replace
from urllib.parse import urlencode

import polars as pl

from analytics.answers import flagging
from analytics.answers.job_rows import JobRows
from analytics.answers.last_entry import last_entry, take_back
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.descriptions import crew_said
from analytics.contract.roles import RECORD_PAGE
from analytics.pages import call_forms, done_job, job_forms, placed, upcoming
from analytics.pages.crack_forms import crack_forms
from analytics.pages.form import Form, Search, Typed
from analytics.pages.job import crack_said, reasons
from analytics.pages.page import Choice, Column, Folded, Page, Part, Said, Section, Table
from analytics.pages.shortened import first_rows
from analytics.pages.warned import misfits

PATH = RECORD_PAGE
TITLE = "Write down"
JOB = Search("job_id", "Job number")
MOST_CRACKS = 6
CRACKS = Choice("cracks", "Cracks of a new job", {str(n): str(n) for n in range(1, MOST_CRACKS + 1)}, "1")
MOST_LISTED = 50
WORKED_OUT = (
    "What is recorded by hand goes through the same checks as a file's rows, with the same reasons where something "
    "cannot be taken, and is a load of its own: it stands in the history, and the last one can be taken back "
    "here. "
    "Only what you change is written, so that figures loaded meanwhile stay."
)


def build(records: Records, said: Said) -> Page:
    """What waits, or the forms of the job that the address names."""
    job_id = JOB.of(said)
    if job_id:
        return _of_job(records, job_id)
    asked = ("open_calls", "unplaced_leak_backs", "overdue_jobs", "stray_calls")
    calls, unplaced, overdue, stray = (records.ask(name) for name in asked)
    return Page(
        answer=_waiting(calls.height, unplaced.height, overdue.height, stray.height),
        choices=(JOB, CRACKS),
        parts=(
            Folded("Plan a new job", (replace(job_forms.new_job(records, int(CRACKS.of(said))), opens=_address),)),
            *_taking_back(records),
            *misfits(stray, PATH),
            Section("Calls not looked at yet", (_calls(calls),)),
            Section(placed.TITLE, (first_rows(placed.table(unplaced), MOST_LISTED, "leak-back"),)),
            Section("Planned jobs whose day is past", (_overdue(overdue),)),
        ),
        worked_out=WORKED_OUT,
    )


def _waiting(calls: int, unplaced: int, overdue: int, stray: int) -> str:
    """What waits, in a sentence: only what there is, and that nothing does."""
    waits = (
        (calls, "call", "for a finding"),
        (unplaced, "leak-back", f"for {'its' if unplaced == 1 else 'their'} crack"),
        (overdue, "planned job", "to be closed"),
    )
    said = [(words.counted(count, one), count, what) for count, one, what in waits if count]
    each = [f"{many}{_verb(count) if place == 0 else ''} {what}" for place, (many, count, what) in enumerate(said)]
    unfit = [words.counted(stray, "call does not fit its job", "calls do not fit their jobs")] if stray else []
    return f"{', '.join([*each, *unfit])}." if each or unfit else "Nothing waits to be written down."


def _verb(count: int) -> str:
    return " waits" if count == 1 else " wait"


def _address(typed: Typed) -> str:
    """Where the job that was typed stands."""
    return f"{PATH}?{urlencode({JOB.key: typed['job_id'].strip()})}"


def _of_job(records: Records, typed: str) -> Page:
    rows = JobRows.meant(records, typed)
    job_id = rows.job_id
    if rows.job is None:
        return Page(
            f"No job {job_id} is loaded.", choices=(JOB,), wanting="Type the number as it stands in your files."
        )
    status, cracks = rows.job["status"], words.counted(rows.frames["cracks"].height, "crack")
    crew = rows.job["crew_id"] and f", {crew_said(rows.job['crew_id'])}"
    if status == "done":
        calls = words.counted(rows.frames["callbacks"].height, "call")
        day = words.full_day(rows.frames["jobs"]["done_on"].item())
        answer = f"Job {job_id}, done on {day}{crew}: {cracks}, {calls}."
        parts: tuple[Part, ...] = (
            Folded("A customer called", (call_forms.new_call(records, rows),)),
            *call_forms.calls(records, rows),
            *done_job.parts(records, rows),
        )
    elif status == "planned":
        answer = f"Job {job_id}, planned for {words.day(rows.frames['jobs']['planned_on'].item())}{crew}: {cracks}."
        ids = list(rows.frames["cracks"]["crack_id"])
        parts = (
            *_engineer_first(records, job_id),
            *job_forms.planned_forms(records, rows),
            *(form for crack in ids for form in crack_forms(records, rows, crack)),
            *_planned(rows.frames["cracks"]),
        )
    else:
        answer = f"Job {job_id} is {status}: {cracks}."
        parts = (job_forms.planning(records, rows),)
    return Page(answer, (*parts, *_taking_back(records)), choices=(JOB,), worked_out=WORKED_OUT)


def _engineer_first(records: Records, job_id: str) -> tuple[Part, ...]:
    """Which cracks of a planned job an engineer looks at before anyone injects, or said no to, and why."""
    waiting = flagging.engineer_first(records, job_id)
    return tuple(Section(f"{flag.crack_id}: {crack_said(flag)}", reasons(flag)) for flag in waiting)


def _planned(cracks: pl.DataFrame) -> tuple[Part, ...]:
    """What is written down of a planned job's cracks; the job opens to what they need, which takes the risk model."""
    columns = (
        Column("job_id", "job", link=upcoming.PATH, help="opens to what each crack needs, and why"),
        Column("crack_id", "crack"),
        Column("direction", "direction"),
        Column("length_m", "length", kind="number", unit="m", digits=2),
        Column("width_mm", "width", kind="number", unit="mm", digits=2),
        Column("water", "water"),
        Column("resin", "resin"),
    )
    shown = Table(columns, cracks.with_columns(words.worded("direction", "water", "resin")), "Cracks of the job")
    return () if cracks.is_empty() else (Section("Its cracks", (shown,)),)


def _taking_back(records: Records) -> tuple[Part, ...]:
    """The form that takes the last entry back, where the last load was one."""
    entry = last_entry(records)
    if entry is None:
        return ()
    day, entered = words.full_day(entry.recorded_at.date()), words.capital(str(entry))
    form = Form(
        f"take-back-{entry.batch}",
        "Take this entry back",
        (),
        lambda _: take_back(records.store.path, entry),
        note=f"{entered}; recorded on {day} at {entry.recorded_at:%H:%M} universal time.",
        needs="undo",
    )
    return (Folded("Take the last entry back", (form,)),)


def _calls(calls: pl.DataFrame) -> Table:
    columns = (Column("job_id", "job", link=PATH), Column("callback_id", "call"), Column("reported_on", "reported"))
    listed = Table(columns, calls, "Calls not looked at yet", empty="Every call has its finding.")
    return first_rows(listed, MOST_LISTED, "call")


def _overdue(overdue: pl.DataFrame) -> Table:
    columns = (Column("job_id", "job", link=PATH), Column("planned_on", "planned for"), Column("crew_id", "crew"))
    listed = Table(columns, overdue, "Planned jobs whose day is past", empty="No planned job's day is past.")
    return first_rows(listed, MOST_LISTED, "job")

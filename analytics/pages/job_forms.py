"""What can be recorded about a job: planning it, changing it, closing it."""

from collections.abc import Mapping
from functools import partial

from analytics.answers import currencies, flagging, recording
from analytics.answers.handing_in import Recorded
from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.pages.asking import ask, ask_all, keyed, today
from analytics.pages.by_hand import change, new, with_names
from analytics.pages.crack_forms import adding, new_crack
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Folded

AGREED = ("planned_on", "branch", "crew_id", "access", "quoted_on", "price_quoted", "travel_minutes", "warranty_months")
CHARGED = ("crew_id", "price_charged", "travel_minutes", "warranty_months")
WORKED = (
    "port_count", "resin_litres", "labour_minutes", "resin", "wall_temp_c", "port_spacing_mm", "cleaned", "dried",
    "water_tested",
)  # fmt: skip
UNDECIDED = Field(
    "undecided",
    "Done without the engineer's decision",
    kind="choice",
    options={"": "no", "yes": "yes"},
    help="An engineer looks first at a crack of this job. Where it was done without, the history keeps saying so.",
)
SITE_NOTE = "A site is kept as a code only: its address is not stored. A crew's name is replaced by a code too."


def planned_forms(records: Records, rows: JobRows) -> tuple[Folded, ...]:
    """The forms of a planned job."""
    return (
        Folded("This job is done: close it", (_closing(records, rows),)),
        Folded("Change this job", (_changing(records, rows, "Change this job", {}),)),
        Folded("Add a crack to this job", (adding(records, rows),)),
    )


def planning(records: Records, rows: JobRows) -> Folded:
    """The form that plans a job which is known already: quoted, lost or cancelled."""
    return Folded("Plan this job", (_changing(records, rows, "Plan this job", {"status": "planned"}),))


def new_job(records: Records, cracks: int) -> Form:
    """A planned job that is not recorded yet, with its cracks."""
    number = recording.suggested(records, "jobs")
    named = (ask("jobs", "job_id", {"job_id": number}), ask("jobs", "site_id"))
    agreed = (*named, *ask_all("jobs", AGREED, currency=currencies.of_day(records)))
    sets = [
        Fieldset(tuple(keyed(field, str(place)) for field in new_crack(f"{number}-{place}")), f"Crack {place}")
        for place in range(1, cracks + 1)
    ]
    act = partial(_plan, records)
    fields = (Fieldset(with_names(records, agreed)), *sets)
    return new("new-job", "Plan this job", fields, act, SITE_NOTE, needs="plan")


def _plan(records: Records, typed: Typed) -> Recorded:
    job, cracks = by_row(typed)
    return recording.plan_job(records.store.path, job, list(cracks.values()))


def _changing(records: Records, rows: JobRows, verb: str, also: Typed) -> Form:
    quoted = rows.frames["jobs"]["quoted_on"].item()
    fields = with_names(records, ask_all("jobs", AGREED, rows.job, currencies.of_day(records, quoted)))

    def act(typed: Typed) -> Recorded:
        return recording.change_job(records.store.path, rows.job_id, {**typed, **also})

    return change("job", verb, (Fieldset(fields),), act, needs="plan")


def _closing(records: Records, rows: JobRows) -> Form:
    job = (today(ask("jobs", "done_on")), *ask_all("jobs", CHARGED, rows.job, currencies.of_day(records)))
    sets = [
        Fieldset(
            tuple(keyed(field, row["crack_id"]) for field in ask_all("cracks", WORKED, row)), f"Crack {row['crack_id']}"
        )
        for row in rows.rows("cracks")
    ]

    waiting = flagging.unanswered(flagging.engineer_first(records, rows.job_id))
    asked = (Fieldset((UNDECIDED,)),) if waiting else ()

    def act(typed: Typed) -> Recorded:
        undecided = typed.get(UNDECIDED.key, "") != ""
        done = {key: text for key, text in typed.items() if key != UNDECIDED.key}
        return recording.close_job(records.store.path, rows.job_id, *by_row(done), undecided=undecided)

    fieldsets = (*asked, Fieldset(with_names(records, job)), *sets)
    return change("closing", "Close this job", fieldsets, act, needs="close")


def by_row(typed: Typed) -> tuple[Typed, Mapping[str, Typed]]:
    """What was typed about the job, and about each of its cracks by the crack's key."""
    job: dict[str, str] = {}
    cracks: dict[str, dict[str, str]] = {}
    for key, text in typed.items():
        crack, _, column = key.rpartition(".")
        (cracks.setdefault(crack, {}) if crack else job)[column] = text
    return job, cracks

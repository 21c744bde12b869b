"""What can be recorded about one crack of a planned job: an engineer's answer, new figures."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from analytics.answers import recording
from analytics.answers.handing_in import Recorded
from analytics.answers.job_rows import JobRows
from analytics.answers.next_code import next_code
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.tables import DECISIONS
from analytics.pages.asking import ask, ask_all, today
from analytics.pages.by_hand import Act, change, new
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Folded

MEASURED = (
    "length_m", "width_mm", "wall_thickness_mm", "direction", "water", "movement", "offset_mm", "resin",
    "wall_temp_c", "port_spacing_mm",
)  # fmt: skip

WHOLE_JOB = Field(
    "whole_job",
    "For",
    kind="choice",
    options={"": "this crack", "yes": "every crack of this job that waits for an engineer"},
)


def crack_forms(records: Records, rows: JobRows, crack_id: str) -> tuple[Folded, ...]:
    """The forms of the crack ``crack_id``."""
    measured = Fieldset(ask_all("cracks", MEASURED, rows.row("cracks", crack_id)))
    act = partial(recording.change_crack, records.store.path, rows.job_id, crack_id)
    changing = change(f"crack-{crack_id}", "Change this crack", (measured,), act, needs="plan")
    return (
        Folded(f"Crack {crack_id}: record an engineer's decision", _engineer(records, rows, crack_id)),
        Folded(f"Crack {crack_id}: write down new figures", (changing,)),
    )


def adding(records: Records, rows: JobRows) -> Form:
    """One more crack of the job."""
    numbers, own = rows.frames["cracks"]["crack_id"], f"{rows.job_id}-"
    number = next_code(numbers.filter(numbers.str.starts_with(own)), f"{own}{len(numbers) + 1}")
    act = partial(recording.add_crack, records.store.path, rows.job_id)
    return new("new-crack", "Add this crack", (Fieldset(new_crack(number)),), act, needs="plan")


def new_crack(number: str) -> tuple[Field, ...]:
    """The fields of a crack that is not recorded yet."""
    return (ask("cracks", "crack_id", {"crack_id": number}), *ask_all("cracks", MEASURED))


def _engineer(records: Records, rows: JobRows, crack_id: str) -> tuple[Form, ...]:
    """The decision's form; before it that of asking, where no question is open."""
    open_review = rows.open_review(crack_id)
    several = (WHOLE_JOB,) if rows.frames["cracks"].height > 1 else ()
    asked_on = today(ask("reviews", "asked_on"))
    decided = (today(ask("reviews", "decided_on")), _decision(), ask("reviews", "reference"), *several)

    def act(record: Callable[..., Recorded]) -> Act:
        def acted(typed: Typed) -> Recorded:
            review = {key: text for key, text in typed.items() if key != WHOLE_JOB.key}
            whole_job = typed.get(WHOLE_JOB.key, "") != ""
            return record(records.store.path, rows.job_id, crack_id, review, whole_job=whole_job)

        return acted

    deciding = new(
        f"decision-{crack_id}",
        "Record the engineer's decision",
        (Fieldset(decided if open_review else (asked_on, *decided)),),
        act(recording.record_decision),
        note=f"Asked on {open_review['asked_on']}." if open_review else "",
        needs="review",
    )
    asking = new(
        f"asked-{crack_id}",
        "Record that an engineer was asked",
        (Fieldset((asked_on, *several)),),
        act(recording.ask_engineer),
        needs="review",
    )
    return (deciding,) if open_review else (asking, deciding)


def _decision() -> Field:
    """A decision is not left blank here."""
    return replace(ask("reviews", "decision"), options={word: words.word(word) for word in DECISIONS})

"""What can be recorded about one crack of a planned job: an engineer's answer, new figures."""

from dataclasses import replace
from functools import partial

from analytics.answers import recording
from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.charts import words
from analytics.contract.tables import DECISIONS
from analytics.pages.asking import ask, ask_all, today
from analytics.pages.by_hand import change, new
from analytics.pages.form import Field, Fieldset, Form
from analytics.pages.page import Folded

MEASURED = (
    "length_m", "width_mm", "wall_thickness_mm", "direction", "water", "movement", "offset_mm", "resin",
    "wall_temp_c", "port_spacing_mm",
)  # fmt: skip


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
    number = f"{rows.job_id}-{rows.frames['cracks'].height + 1}"
    act = partial(recording.add_crack, records.store.path, rows.job_id)
    return new("new-crack", "Add this crack", (Fieldset(new_crack(number)),), act, needs="plan")


def new_crack(number: str) -> tuple[Field, ...]:
    """The fields of a crack that is not recorded yet."""
    return (ask("cracks", "crack_id", {"crack_id": number}), *ask_all("cracks", MEASURED))


def _engineer(records: Records, rows: JobRows, crack_id: str) -> tuple[Form, ...]:
    """The decision's form; before it that of asking, where no question is open."""
    path, open_review = records.store.path, rows.open_review(crack_id)
    asked_on = today(ask("reviews", "asked_on"))
    decided = (today(ask("reviews", "decided_on")), _decision(), ask("reviews", "reference"))
    deciding = new(
        f"decision-{crack_id}",
        "Record the engineer's decision",
        (Fieldset(decided if open_review else (asked_on, *decided)),),
        partial(recording.record_decision, path, rows.job_id, crack_id),
        note=f"Asked on {open_review['asked_on']}." if open_review else "",
        needs="review",
    )
    asking = new(
        f"asked-{crack_id}",
        "Record that an engineer was asked",
        (Fieldset((asked_on,)),),
        partial(recording.ask_engineer, path, rows.job_id, crack_id),
        needs="review",
    )
    return (deciding,) if open_review else (asking, deciding)


def _decision() -> Field:
    """A decision is not left blank here."""
    return replace(ask("reviews", "decision"), options={word: words.word(word) for word in DECISIONS})

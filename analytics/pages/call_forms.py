"""What can be recorded about a done job: a customer's call, its finding, and which crack leaked back."""

from dataclasses import replace
from datetime import date
from functools import partial

from analytics.answers import currencies, recording
from analytics.answers.job_rows import JobRows, Row
from analytics.answers.records import Records
from analytics.contract import words
from analytics.pages.asking import among, ask, ask_all, today
from analytics.pages.by_hand import change, new
from analytics.pages.form import Field, Fieldset, Form
from analytics.pages.page import Folded

FOUND = ("finding", "labour_minutes", "material_cost")
UNKNOWN_CRACK = "not known which"


def new_call(records: Records, rows: JobRows) -> Form:
    """A call that is not recorded yet."""
    number = ask("callbacks", "callback_id", {"callback_id": recording.suggested(records, "callbacks")})
    fields = (number, today(ask("callbacks", "reported_on")), _which_crack(rows), *_found(records))
    act = partial(recording.record_call, records.store.path, rows.job_id)
    return new("new-call", "Record this call", (Fieldset(fields),), act, needs="call")


def calls(records: Records, rows: JobRows) -> tuple[Folded, ...]:
    """The calls so far, those that wait for a finding or a crack first."""
    waiting = sorted(rows.rows("callbacks"), key=lambda call: not waits_for(rows, call))
    return tuple(Folded(_title(rows, call), (_call(records, rows, call),)) for call in waiting)


def waits_for(rows: JobRows, call: Row) -> str:
    """What is still to be said about a call: its finding, or which crack leaked back; nothing as an empty text."""
    if not call["finding"]:
        return "not looked at yet"
    several = rows.frames["cracks"].height > 1
    return "which crack is not known" if call["finding"] == "leak_back" and several and not call["crack_id"] else ""


def _call(records: Records, rows: JobRows, call: Row) -> Form:
    fields = (_which_crack(rows, call), *_found(records, call))
    act = partial(recording.change_call, records.store.path, rows.job_id, call["callback_id"])
    return change(f"call-{call['callback_id']}", "Record what was found", (Fieldset(fields),), act, needs="call")


def _found(records: Records, call: Row | None = None) -> tuple[Field, ...]:
    day = date.fromisoformat(call["reported_on"]) if call else None
    return ask_all("callbacks", FOUND, call, currencies.of_day(records, day))


def _title(rows: JobRows, call: Row) -> str:
    said = waits_for(rows, call) or words.word(call["finding"])
    return f"Call {call['callback_id']} of {words.full_day(date.fromisoformat(call['reported_on']))}: {said}"


def _which_crack(rows: JobRows, call: Row | None = None) -> Field:
    field = replace(ask("callbacks", "crack_id", call), label="crack")
    return among(field, list(rows.frames["cracks"]["crack_id"]), UNKNOWN_CRACK)

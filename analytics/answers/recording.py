"""What is recorded by hand: planned jobs, closed jobs, calls, an engineer's answers.

Each takes the store, where it belongs and what was typed (texts by column), and gives what was recorded; RefusedError
with every reason otherwise. Only what was typed changes, so nobody's newer figures are undone.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl

from analytics.answers.flagging import engineer_first, waiting_for_engineer
from analytics.answers.handing_in import Recorded, changed, hand_in, new_row
from analytics.answers.job_rows import JobRows, Row, Tables
from analytics.answers.next_code import next_code, next_codes
from analytics.answers.not_recorded import RefusedError, refuse_taken
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract.descriptions import one_of
from analytics.contract.rules import DO_NOT_INJECT
from analytics.contract.tables import TABLES
from analytics.store.committing import current

Typed = Mapping[str, str]
ACTUALS = ("resin_litres", "labour_minutes")
FIRST_CODES = {"jobs": "J-0001", "callbacks": "K-0001", "reviews": "R-0001"}


def suggested(records: Records, table: str) -> str:
    """The next number in the business's own way of numbering, which no rejected row waits under either."""
    return next_code(_known_numbers(records, table), FIRST_CODES[table])


def _known_numbers(records: Records, table: str) -> pl.Series:
    [key] = TABLES[table].primary_key()
    waiting = records.ask("waiting_rows").filter(pl.col("table") == table)["key"].drop_nulls()
    return pl.concat([current(records.store, table, [key])[key], waiting.rename(key)])


@needs("plan")
def plan_job(path: Path, job: Typed, cracks: Sequence[Typed]) -> Recorded:
    """Record a new planned job and its cracks."""
    job_id = job["job_id"].strip()

    def make(records: Records, before: JobRows) -> Tables:
        del before
        rows = {
            "jobs": [new_row("jobs", job) | {"status": "planned"}],
            "cracks": [new_row("cracks", crack) | {"job_id": job_id} for crack in cracks],
        }
        refuse_taken(records, rows)
        return {table: new for table, new in rows.items() if new}

    return hand_in(path, "planned job", job_id, make, f"job {job_id} is planned")


@needs("plan")
def change_job(path: Path, job_id: str, typed: Typed) -> Recorded:
    """Record what was typed about a job that is known; ``status`` may be typed too."""

    def make(records: Records, before: JobRows) -> Tables:
        del records
        return {"jobs": [changed(_job(before), typed)]}

    return hand_in(path, "job", job_id, make, f"job {job_id} is changed")


@needs("plan")
def add_crack(path: Path, job_id: str, typed: Typed) -> Recorded:
    """Record one more crack of a job."""

    def make(records: Records, before: JobRows) -> Tables:
        _job(before)
        rows = {"cracks": [new_row("cracks", typed) | {"job_id": job_id}]}
        refuse_taken(records, rows)
        return rows

    return hand_in(path, "crack", job_id, make, f"crack {typed['crack_id'].strip()} is added to job {job_id}")


@needs("plan")
def change_crack(path: Path, job_id: str, crack_id: str, typed: Typed) -> Recorded:
    """Record what was typed about a crack that is known."""

    def make(records: Records, before: JobRows) -> Tables:
        del records
        return {"cracks": [changed(_row(before, "cracks", crack_id), typed)]}

    return hand_in(path, "crack", job_id, make, f"crack {crack_id} is changed")


@needs("close")
def close_job(path: Path, job_id: str, job: Typed, cracks: Mapping[str, Typed], *, undecided: bool = False) -> Recorded:
    """Record that a job is done: its day, crew and price, and by crack what went into it.

    Refused where an engineer looks first and has not decided, unless the work was done ``undecided``; and where nothing
    of the work was written down. The load's name says for good that it was, or that the decision was not to inject.
    """

    def make(records: Records, before: JobRows) -> Tables:
        done = changed(_job(before), job) | {"status": "done"}
        work = [changed(_row(before, "cracks", crack_id), typed) for crack_id, typed in cracks.items()]
        _refuse_undecided(records, job_id, undecided=undecided)
        _refuse_blank(done, work or before.rows("cracks"))
        return {"jobs": [done]} | ({"cracks": work} if work else {})

    return hand_in(path, _how_closed(path, job_id, undecided=undecided), job_id, make, f"job {job_id} is done")


def _how_closed(path: Path, job_id: str, *, undecided: bool) -> str:
    """What the load is called for good: whether the engineer's decision was waited for, and followed may be."""
    if undecided:
        return "job closed without the engineer's decision"
    declined = any(each.needs == DO_NOT_INJECT for each in engineer_first(Records.of(path), job_id))
    return "job closed after an engineer decided not to inject" if declined else "closed job"


def _refuse_undecided(records: Records, job_id: str, *, undecided: bool) -> None:
    """RefusedError where what is said of the engineer's decision is not what the records say."""
    waiting = waiting_for_engineer(records, job_id)
    if undecided and not waiting:
        raise RefusedError.because("no crack of this job waits for an engineer any more; say no to that")
    if waiting and not undecided:
        cracks = ", ".join(each.crack_id for each in waiting)
        raise RefusedError.because(
            f"an engineer looks first at {cracks}, and no decision to inject is recorded. Record it, or say that the "
            "work was done without it"
        )


def _refuse_blank(job: Row, cracks: Sequence[Row]) -> None:
    if cracks and not any([job["price_charged"], *(row[column] for row in cracks for column in ACTUALS)]):
        raise RefusedError.because("neither litres, nor minutes, nor a price is written down; give one at least")


@needs("call")
def record_call(path: Path, job_id: str, typed: Typed) -> Recorded:
    """Record a customer's call about finished work, with its finding where somebody has looked."""

    def make(records: Records, before: JobRows) -> Tables:
        _job(before)
        rows = {"callbacks": [new_row("callbacks", typed) | {"job_id": job_id}]}
        refuse_taken(records, rows)
        return rows

    return hand_in(path, "callback", job_id, make, f"call {typed['callback_id'].strip()} about job {job_id}")


@needs("call")
def change_call(path: Path, job_id: str, callback_id: str, typed: Typed) -> Recorded:
    """Record what was found at a call, or which crack it was."""

    def make(records: Records, before: JobRows) -> Tables:
        del records
        return {"callbacks": [changed(_row(before, "callbacks", callback_id), typed)]}

    return hand_in(path, "callback", job_id, make, f"call {callback_id} is changed")


@needs("review")
def ask_engineer(path: Path, job_id: str, crack_id: str, typed: Typed, *, whole_job: bool = False) -> Recorded:
    """Record the day an engineer was asked about a crack; with ``whole_job`` about all that wait to be asked about."""
    waiting, known = _looked_at(path, job_id, crack_id, whole_job=whole_job), JobRows.of(Records.of(path), job_id)
    cracks = [crack for crack in waiting if crack == crack_id or not known.open_review(crack)]

    def make(records: Records, before: JobRows) -> Tables:
        _row(before, "cracks", crack_id)
        return {"reviews": _numbered(records, [_new_review(crack, typed) for crack in cracks])}

    return hand_in(path, "engineer asked", job_id, make, f"an engineer was asked about {_of_which(cracks)}")


@needs("review")
def record_decision(path: Path, job_id: str, crack_id: str, typed: Typed, *, whole_job: bool = False) -> Recorded:
    """Record an engineer's decision on a crack; with ``whole_job`` on all of its job that wait for one.

    It answers the open question about a crack, whose day stays; where there is none, it is a review of its own.
    """
    cracks = _looked_at(path, job_id, crack_id, whole_job=whole_job)

    def make(records: Records, before: JobRows) -> Tables:
        _row(before, "cracks", crack_id)
        own = before.open_review(crack_id)
        asked_on = {"asked_on": own["asked_on"]} if own else {}
        answer = {key: text for key, text in typed.items() if key != "asked_on"}
        asked = {crack: before.open_review(crack) for crack in cracks}
        answered = [changed(review, answer) for review in asked.values() if review]
        unasked = [_new_review(crack, {**typed, **asked_on}) for crack, review in asked.items() if not review]
        return {"reviews": [*answered, *_numbered(records, unasked)]}

    return hand_in(path, "engineer's decision", job_id, make, f"the engineer's decision on {_of_which(cracks)}")


def _looked_at(path: Path, job_id: str, crack_id: str, *, whole_job: bool) -> list[str]:
    """The crack, and with ``whole_job`` the others that no engineer has answered; never one with a decision."""
    waiting = waiting_for_engineer(Records.of(path), job_id) if whole_job else []
    return [crack_id, *sorted(each.crack_id for each in waiting if each.crack_id != crack_id)]


def _of_which(cracks: Sequence[str]) -> str:
    return f"crack {cracks[0]}" if len(cracks) == 1 else f"cracks {', '.join(cracks)}"


def _new_review(crack_id: str, typed: Typed) -> Row:
    return new_row("reviews", typed) | {"crack_id": crack_id}


def _numbered(records: Records, reviews: Sequence[Row]) -> list[Row]:
    """New reviews with numbers of their own."""
    numbers = next_codes(_known_numbers(records, "reviews"), FIRST_CODES["reviews"], len(reviews))
    return [review | {"review_id": number} for review, number in zip(reviews, numbers, strict=True)]


def _job(before: JobRows) -> Row:
    if before.job is None:
        raise RefusedError.because(f"no job {before.job_id or 'without a number'} is loaded")
    return before.job


def _row(before: JobRows, table: str, key: str) -> Row:
    try:
        return before.row(table, key)
    except KeyError:
        raise RefusedError.because(f"job {before.job_id} has no {one_of(table)} {key}") from None

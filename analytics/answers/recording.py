"""What is recorded by hand: planned jobs, closed jobs, calls, an engineer's answers.

Each takes the store, where it belongs and what was typed (texts by column), and gives what was recorded; RefusedError
with every reason otherwise. Only what was typed changes, so nobody's newer figures are undone.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl

from analytics.answers.flagging import engineer_first, unanswered
from analytics.answers.handing_in import Entry, Recorded, changed, hand_in, new_row
from analytics.answers.job_rows import JobRows, Row
from analytics.answers.next_code import next_code, next_codes
from analytics.answers.not_recorded import RefusedError, refuse_taken
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract.descriptions import one_of
from analytics.contract.tables import TABLES
from analytics.decisions.triage import Flag
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

    def make(records: Records, before: JobRows) -> Entry:
        del before
        rows = {
            "jobs": [new_row("jobs", job) | {"status": "planned"}],
            "cracks": [new_row("cracks", crack) | {"job_id": job_id} for crack in cracks],
        }
        refuse_taken(records, rows)
        return Entry("planned job", f"job {job_id} is planned", {table: new for table, new in rows.items() if new})

    return hand_in(path, job_id, make)


@needs("plan")
def change_job(path: Path, job_id: str, typed: Typed) -> Recorded:
    """Record what was typed about a job that is known; ``status`` may be typed too."""

    def make(records: Records, before: JobRows) -> Entry:
        del records
        return Entry("job", f"job {job_id} is changed", {"jobs": [changed(_job(before), typed)]})

    return hand_in(path, job_id, make)


@needs("plan")
def add_crack(path: Path, job_id: str, typed: Typed) -> Recorded:
    """Record one more crack of a job."""

    def make(records: Records, before: JobRows) -> Entry:
        _job(before)
        rows = {"cracks": [new_row("cracks", typed) | {"job_id": job_id}]}
        refuse_taken(records, rows)
        return Entry("crack", f"crack {typed['crack_id'].strip()} is added to job {job_id}", rows)

    return hand_in(path, job_id, make)


@needs("plan")
def change_crack(path: Path, job_id: str, crack_id: str, typed: Typed) -> Recorded:
    """Record what was typed about a crack that is known."""

    def make(records: Records, before: JobRows) -> Entry:
        del records
        row = changed(_row(before, "cracks", crack_id), typed)
        return Entry("crack", f"crack {crack_id} is changed", {"cracks": [row]})

    return hand_in(path, job_id, make)


@needs("close")
def close_job(path: Path, job_id: str, job: Typed, cracks: Mapping[str, Typed], *, undecided: bool = False) -> Recorded:
    """Record that a job is done: its day, crew and price, and by crack what went into it.

    Refused where an engineer looks first and has not decided, unless the work was done ``undecided``; and where nothing
    of the work was written down. The load's name says for good that it was, or that the decision was not to inject.
    """

    def make(records: Records, before: JobRows) -> Entry:
        done = changed(_job(before), job) | {"status": "done"}
        work = [changed(_row(before, "cracks", crack_id), typed) for crack_id, typed in cracks.items()]
        flagged = engineer_first(records, job_id)
        _refuse_undecided(flagged, undecided=undecided)
        _refuse_blank(done, work or before.rows("cracks"))
        tables = {"jobs": [done]} | ({"cracks": work} if work else {})
        return Entry(_how_closed(flagged, undecided=undecided), f"job {job_id} is done", tables)

    return hand_in(path, job_id, make)


def _how_closed(flagged: Sequence[Flag], *, undecided: bool) -> str:
    """What the load is called for good: whether the engineer's decision was waited for, and followed may be."""
    if undecided:
        return "job closed without the engineer's decision"
    declined = any(each.declined for each in flagged)
    return "job closed after an engineer decided not to inject" if declined else "closed job"


def _refuse_undecided(flagged: Sequence[Flag], *, undecided: bool) -> None:
    """RefusedError where what is said of the engineer's decision is not what the records say."""
    waiting = unanswered(flagged)
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

    def make(records: Records, before: JobRows) -> Entry:
        _job(before)
        rows = {"callbacks": [new_row("callbacks", typed) | {"job_id": job_id}]}
        refuse_taken(records, rows)
        return Entry("call", f"call {typed['callback_id'].strip()} about job {job_id}", rows)

    return hand_in(path, job_id, make)


@needs("call")
def change_call(path: Path, job_id: str, callback_id: str, typed: Typed) -> Recorded:
    """Record what was found at a call, or which crack it was."""

    def make(records: Records, before: JobRows) -> Entry:
        del records
        row = changed(_row(before, "callbacks", callback_id), typed)
        return Entry("call", f"call {callback_id} is changed", {"callbacks": [row]})

    return hand_in(path, job_id, make)


@needs("review")
def ask_engineer(path: Path, job_id: str, crack_id: str, typed: Typed, *, whole_job: bool = False) -> Recorded:
    """Record the day an engineer was asked about a crack; with ``whole_job`` about all that wait to be asked about."""

    def make(records: Records, before: JobRows) -> Entry:
        waiting = _looked_at(records, before, crack_id, whole_job=whole_job)
        cracks = [crack for crack in waiting if crack == crack_id or not before.open_review(crack)]
        reviews = _numbered(records, [_new_review(crack, typed) for crack in cracks])
        return Entry("engineer asked", f"an engineer was asked about {_of_which(cracks)}", {"reviews": reviews})

    return hand_in(path, job_id, make)


@needs("review")
def record_decision(path: Path, job_id: str, crack_id: str, typed: Typed, *, whole_job: bool = False) -> Recorded:
    """Record an engineer's decision on a crack; with ``whole_job`` on all of its job that wait for one.

    It answers the open question about a crack, whose day stays; where there is none, it is a review of its own.
    """

    def make(records: Records, before: JobRows) -> Entry:
        cracks = _looked_at(records, before, crack_id, whole_job=whole_job)
        own = before.open_review(crack_id)
        asked_on = {"asked_on": own["asked_on"]} if own else {}
        answer = {key: text for key, text in typed.items() if key != "asked_on"}
        asked = {crack: before.open_review(crack) for crack in cracks}
        answered = [changed(review, answer) for review in asked.values() if review]
        unasked = [_new_review(crack, {**typed, **asked_on}) for crack, review in asked.items() if not review]
        reviews = [*answered, *_numbered(records, unasked)]
        return Entry("engineer's decision", f"the engineer's decision on {_of_which(cracks)}", {"reviews": reviews})

    return hand_in(path, job_id, make)


def _looked_at(records: Records, before: JobRows, crack_id: str, *, whole_job: bool) -> list[str]:
    """The crack, and with ``whole_job`` the others that no engineer has answered; never one with a decision."""
    _row(before, "cracks", crack_id)
    waiting = unanswered(engineer_first(records, before.job_id)) if whole_job else []
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

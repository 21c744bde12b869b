"""Cracks to be quoted from a CSV file: good rows are quoted, each other row is named with its reason."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

import dataframely as dy

from analytics.answers.quote_input import ASKED, NEEDED, CracksToQuote, frame, require_possible
from analytics.answers.quote_sheet import sheet_to_quote
from analytics.contract.descriptions import label
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError, UnreadableFileError
from analytics.intake import ColumnMap, Sheet
from analytics.intake.numerals import settle_mark
from analytics.intake.sheet import AS_IN_THE_CONTRACT, plain
from analytics.intake.typing_cells import said, typed

FIRST_ROW = 2
"""A spreadsheet's number of the row beneath the header."""
KEYS: Mapping[str, dy.Column] = {name: TABLES["cracks"].columns()[name] for name in ("crack_id", "job_id")}
SHARED_OUT = ("travel_minutes", "cracks_on_job")
OF_A_JOB = ("access", "crew_id", "warranty_months", *SHARED_OUT)
"""What is a job's, not a crack's: one row of the job may say it for all."""
MOST_KEPT = 10_000
Row = dict[str, Any]


def from_file(path: Path, crew_of: Callable[[str], str] = str, column_map: ColumnMap | None = None) -> CracksToQuote:
    """The cracks of a file with columns of ``ASKED``, and crack_id and job_id where they are given.

    A crack without crack_id is named by its row; one without job_id is a job by itself. What is a job's may stand in
    one of its rows. ``crew_of`` gives the code of a crew that is known, and LeakbackError, the row's fault, for any
    other.

    Raises:
        UnreadableFileError: the file cannot be read, has several sheets, or no column for the length or the width.
    """
    sheet = sheet_to_quote(path, {*KEYS, *ASKED}, column_map)
    header = {plain(name): name for name in sheet.headers}
    if missing := [name for name in NEEDED if name not in header]:
        raise UnreadableFileError(
            f"{path.name}: no column {' and no column '.join(missing)}; the file needs {' and '.join(NEEDED)} and may "
            f"have {', '.join(name for name in (*KEYS, *ASKED) if name not in NEEDED)}"
        )
    columns = {name: column for name, column in {**KEYS, **ASKED}.items() if name in header}
    rows, faults = _typed_rows(sheet, {name: header[name] for name in columns}, columns)
    faults |= dict(_name_crews(rows, crew_of))
    named = _named(rows)
    faults |= {place: reason for place, reason in _at_odds(named) if place not in faults}
    good = list(_whole(_counted(_told_once(named)), faults))
    rejects = [
        {"row": row + FIRST_ROW, "column": column, "reason": reason} for (row, column), reason in sorted(faults.items())
    ]
    left = () if column_map else (name for name in header if name not in columns)
    return CracksToQuote(frame(good), tuple(rejects), (*sheet.dropped, *left))


Faults = dict[tuple[int, str], str]
"""Why a cell cannot be, by its row (from 0) and column."""


def _typed_rows(sheet: Sheet, header: Mapping[str, str], columns: Mapping[str, dy.Column]) -> tuple[list[Row], Faults]:
    """The rows that hold anything, typed, each with its row number under ``row``; and the cells that cannot be."""
    places = [number - FIRST_ROW for number in sheet.numbers]
    ours = {"": "", **{theirs: name for name, theirs in header.items()}}
    met = sheet.faults.iter_rows()
    faults: Faults = {(row - FIRST_ROW, ours[theirs]): reason for row, theirs, reason in met if theirs in ours}
    read = {}
    mark = settle_mark(sheet.cells[header[name]] for name in ASKED if name in header)
    for name, column in columns.items():
        theirs = header[name]
        written = sheet.written.get(theirs, AS_IN_THE_CONTRACT)
        cells = said(sheet.cells[theirs], written)
        values, unreadable = typed(cells, column, written, mark=mark, is_day=sheet.days.get(theirs))
        faults |= {(places[place], name): reason for place, reason in unreadable.items()}
        read[name] = values.to_list()
    rows = [dict(zip(read, values, strict=True)) for values in zip(*read.values(), strict=True)]
    unread = {place for place, _ in faults}
    held = [
        row | {"row": place}
        for place, row in zip(places, rows, strict=True)
        if place in unread or any(v is not None for v in row.values())
    ]
    for row in held:
        faults |= {key: reason for key, reason in _faults(row) if key not in faults}
    return held, faults


def _faults(row: Row) -> Iterator[tuple[tuple[int, str], str]]:
    for name, value in row.items():
        if name not in ASKED:
            continue
        if value is None and name in NEEDED:
            yield (row["row"], name), f"{name} must not be blank"
        # A word was held to its list as it was read.
        elif value is not None and not isinstance(value, str) and (reason := _why_not(name, value)):
            yield (row["row"], name), reason


def _name_crews(rows: list[Row], crew_of: Callable[[str], str]) -> Iterator[tuple[tuple[int, str], str]]:
    """Put each crew's code into its rows; the cells that name none, each distinct crew looked up once."""
    look_up = lru_cache(maxsize=MOST_KEPT)(partial(_looked_up, crew_of))
    for row in rows:
        if row.get("crew_id") is not None:
            row["crew_id"], fault = look_up(row["crew_id"])
            if fault:
                yield (row["row"], "crew_id"), fault


def _looked_up(crew_of: Callable[[str], str], typed: str) -> tuple[str, str]:
    try:
        return crew_of(typed), ""
    except LeakbackError as error:
        return typed, str(error)


@lru_cache(maxsize=MOST_KEPT)
def _why_not(name: str, value: float | Decimal) -> str:
    """Why no crack can have ``value``, empty where one can; measured to a step, cracks share most of theirs."""
    try:
        require_possible(name, value)
    except LeakbackError as error:
        return str(error)
    return ""


def _named(rows: list[Row]) -> list[Row]:
    """The rows with the numbers that the file does not give: a crack's row, and its own for its job."""
    named = [row | {"crack_id": row.get("crack_id") or f"row {row['row'] + FIRST_ROW}"} for row in rows]
    return [row | {"job_id": row.get("job_id") or row["crack_id"]} for row in named]


def _at_odds(rows: list[Row]) -> Iterator[tuple[tuple[int, str], str]]:
    """What is shared out over the cracks of a job, where two rows of one job differ in it or it is of fewer cracks."""
    counts = Counter(row["job_id"] for row in rows)
    first: dict[tuple[str, str], Row] = {}
    for row in rows:
        job = row["job_id"]
        for name in SHARED_OUT:
            if (value := row.get(name)) is None:
                continue
            said = first.setdefault((job, name), row)
            if value != said[name]:
                where = f"row {said['row'] + FIRST_ROW}"
                yield (row["row"], name), f"{label(name)} {value:g}, but {said[name]:g} in {where} of the same job"
            elif name == "cracks_on_job" and value < counts[job]:
                yield (row["row"], name), f"{value} of {counts[job]} rows of job {job}; leave it blank, or count again"


def _told_once(rows: list[Row]) -> list[Row]:
    """The rows with what is a job's, where only some rows of the job say it and these say the same."""
    told: dict[tuple[str, str], set[Any]] = {}
    for row in rows:
        for name in OF_A_JOB:
            if row.get(name) is not None:
                told.setdefault((row["job_id"], name), set()).add(row[name])
    known = {place: values.pop() for place, values in told.items() if len(values) == 1}
    return [
        row | {name: known[row["job_id"], name] for name in OF_A_JOB if (row["job_id"], name) in known} for row in rows
    ]


def _counted(rows: list[Row]) -> list[Row]:
    """The rows with the cracks of their job counted where the file does not say."""
    counts = Counter(row["job_id"] for row in rows)
    return [row | {"cracks_on_job": row.get("cracks_on_job") or counts[row["job_id"]]} for row in rows]


def _whole(rows: list[Row], faults: Faults) -> Iterator[Row]:
    """The rows without a fault; a crack given twice is a fault of the later row."""
    faulty: set[int] = {place for place, _ in faults}
    seen: set[str] = set()
    for row in rows:
        if row["crack_id"] in seen:
            faults[row["row"], "crack_id"] = f"crack {row['crack_id']} is there twice; give each its own number"
        elif row["row"] not in faulty:
            yield {name: value for name, value in row.items() if name != "row"}
        seen.add(row["crack_id"])

"""Cracks to be quoted from a file: good rows are quoted, each other row is named with its reason."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import dataframely as dy
import polars as pl

from analytics.answers.quote_input import ASKED, NEEDED, OF_ITS_JOB, CracksToQuote, frame
from analytics.answers.quote_jobs import KEY, JobsRead, read_jobs
from analytics.answers.quote_rows import FIRST_ROW, Coder, Faults, Row, given, headers_of, name_crews, some, typed_rows
from analytics.answers.quote_sheet import SheetsToQuote, sheets_to_quote
from analytics.contract.descriptions import label
from analytics.contract.tables import TABLES
from analytics.errors import UnreadableFileError
from analytics.intake import ColumnMap

KEYS: Mapping[str, dy.Column] = {name: TABLES["cracks"].columns()[name] for name in ("crack_id", "job_id")}
READ: Mapping[str, dy.Column] = {**KEYS, **ASKED, **OF_ITS_JOB}
"""Every column of a file that a quote reads."""
SHARED_OUT = ("travel_minutes", "cracks_on_job", "price_quoted")
OF_A_JOB = ("access", "crew_id", "warranty_months", "site_id", "planned_on", "quoted_on", *SHARED_OUT)
"""What is a job's, not a crack's: one row of the job may say it for all."""
NO_SITES = "The earlier leak-backs at the jobs' sites are not counted: the store's private file is not at hand."


def from_file(
    path: Path,
    crew_of: Callable[[str], str] = str,
    column_map: ColumnMap | None = None,
    site_codes: Coder | None = None,
) -> CracksToQuote:
    """The cracks of a file with columns of ``READ``, and with what its sheet of jobs says of theirs.

    A crack without crack_id is named by its row; one without job_id is a job by itself. What is a job's may stand in
    one of its rows. ``crew_of`` gives the code of a crew that is known, and LeakbackError, the row's fault, for any
    other; ``site_codes`` the codes of sites, None where they cannot be told.

    Raises:
        UnreadableFileError: the file cannot be read, has several sheets of cracks, or no column for the length or the
            width.
    """
    sheets = sheets_to_quote(path, READ, column_map)
    header = headers_of(sheets.cracks)
    if missing := [name for name in NEEDED if name not in header]:
        raise UnreadableFileError(
            f"{path.name}: no column {' and no column '.join(missing)}; the file needs {' and '.join(NEEDED)} and may "
            f"have {', '.join(name for name in READ if name not in NEEDED)}"
        )
    coded = {"site_id": site_codes or _untold}
    rows, faults = typed_rows(sheets.cracks, READ, NEEDED, coded)
    faults |= dict(name_crews(rows, crew_of))
    of_jobs = {name: READ[name] for name in OF_A_JOB}
    jobs = read_jobs(sheets.jobs, of_jobs, crew_of, coded)
    named = _named(rows)
    found = (*_of_unfit_jobs(named, jobs), *_at_odds(named, jobs))
    faults |= {place: reason for place, reason in found if place not in faults}
    filled = [jobs.told.get(row["job_id"], {}) | given(row) for row in named]
    good = list(_whole(_counted(_told_once(filled)), faults))
    rejects = [
        {"row": row + FIRST_ROW, "column": column, "reason": reason} for (row, column), reason in sorted(faults.items())
    ]
    no_sites = site_codes is None and any("site_id" in headers_of(sheet) for sheet in (sheets.cracks, *sheets.jobs))
    unused = (*_unused(sheets, named, jobs), *([NO_SITES] if no_sites else []))
    return CracksToQuote(frame(good), tuple(rejects), _unread(sheets, column_map), unused)


def _untold(cells: pl.Series) -> pl.Series:
    """Sites that cannot be told are none."""
    return cells.clear().extend_constant(None, len(cells))


def _named(rows: list[Row]) -> list[Row]:
    """The rows with the numbers that the file does not give: a crack's row, and its own for its job."""
    named = [row | {"crack_id": row.get("crack_id") or f"row {row['row'] + FIRST_ROW}"} for row in rows]
    return [row | {"job_id": row.get("job_id") or row["crack_id"]} for row in named]


def _of_unfit_jobs(rows: list[Row], jobs: JobsRead) -> Iterator[tuple[tuple[int, str], str]]:
    """The cracks of jobs whose own row cannot be used: without it they would be quoted as if nothing were known."""
    for row in rows:
        if why := jobs.unfit.get(row["job_id"]):
            yield (row["row"], "job_id"), why


def _at_odds(rows: list[Row], jobs: JobsRead) -> Iterator[tuple[tuple[int, str], str]]:
    """What is shared out over the cracks of a job, where two rows of one job differ in it or it is of fewer cracks."""
    counts = Counter(row["job_id"] for row in rows)
    first: dict[tuple[str, str], tuple[Any, str]] = {}
    for row in rows:
        job = row["job_id"]
        told = jobs.told.get(job, {})
        for name in SHARED_OUT:
            if (of_job := told.get(name)) is not None:
                first.setdefault((job, name), (of_job, told["where"]))
            value = of_job if row.get(name) is None else row[name]
            if value is None:
                continue
            said, where = first.setdefault((job, name), (value, f"row {row['row'] + FIRST_ROW} of the same job"))
            if value != said:
                yield (row["row"], name), f"{label(name)} {value:g}, but {said:g} in {where}"
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
            yield {name: value for name, value in row.items() if name not in {"row", "where"}}
        seen.add(row["crack_id"])


def _unread(sheets: SheetsToQuote, column_map: ColumnMap | None) -> tuple[str, ...]:
    """The columns that were not read: under a map those that it does not name."""
    if column_map:
        return sheets.dropped
    left = [name for name in headers_of(sheets.cracks) if name not in READ]
    of_jobs = [name for sheet in sheets.jobs for name in headers_of(sheet) if name not in {*KEY, *OF_A_JOB}]
    return tuple(dict.fromkeys([*left, *of_jobs]))


def _unused(sheets: SheetsToQuote, rows: list[Row], jobs: JobsRead) -> Iterator[str]:
    """What of the jobs and their cracks does not come together, a sentence each."""
    yield from sheets.said
    listed, named = dict.fromkeys([*jobs.told, *jobs.unfit]), {row["job_id"] for row in rows}
    if idle := [job for job in listed if job not in named]:
        yield f"Not quoted, named by no crack of the file: {some(idle, 'job')}."
    if jobs.nameless:
        yield f"Not read, naming no job: {some(jobs.nameless, 'row')}."
    alone = [row["crack_id"] for row in rows if row["job_id"] not in listed] if sheets.apart else []
    if alone:
        yield f"Quoted without what is a job's, for want of a row of the jobs: {some(alone, 'crack')}."

"""The sheets of a file of cracks to be quoted: under our own headers, or read by a business's column map."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from analytics.contract import words
from analytics.errors import UnreadableFileError
from analytics.intake import ColumnMap, Sheet, apply, open_sources, read_source
from analytics.intake.naming import table_of

SHOWN_SHEETS = 3


@dataclass(frozen=True)
class SheetsToQuote:
    """The one sheet of cracks, and those of jobs; under a map the headers of all are ours.

    ``apart``: jobs have a sheet of their own. ``dropped`` are headers that the map does not name. ``said`` names the
    sheets that no quote reads.
    """

    cracks: Sheet
    jobs: tuple[Sheet, ...] = ()
    apart: bool = False
    dropped: tuple[str, ...] = ()
    said: tuple[str, ...] = ()


def sheets_to_quote(path: Path, ours: Collection[str], column_map: ColumnMap | None = None) -> SheetsToQuote:
    """The sheets of the file at ``path`` that hold cracks and their jobs.

    What a map says of jobs is taken where it stands in the rows of the cracks; its other rows are jobs by themselves.

    Raises:
        UnreadableFileError: the file cannot be read, or several of its sheets or none hold cracks.
        MapError: a sheet lacks a header that the map names.
    """
    [source] = open_sources([path])
    known = {*ours, *column_map.headers} if column_map else ours
    sheets = read_source(source, known)
    return _named(path, sheets) if column_map is None else _mapped(path, [apply(column_map, each) for each in sheets])


def _named(path: Path, sheets: Sequence[Sheet]) -> SheetsToQuote:
    """The sheets by their names, our headers in them; a sheet that is alone holds cracks, whatever its name."""
    if len(sheets) == 1:
        return SheetsToQuote(sheets[0])
    by_table = [(table_of(sheet) or "cracks", sheet) for sheet in sheets]
    cracks = [sheet for table, sheet in by_table if table == "cracks"]
    if not cracks:
        raise UnreadableFileError(f"{path.name}: no sheet of it holds cracks; name the one that does cracks")
    jobs = tuple(sheet for table, sheet in by_table if table == "jobs")
    others = [sheet for table, sheet in by_table if table not in {"cracks", "jobs"}]
    return SheetsToQuote(_only(path, cracks), jobs, apart=bool(jobs), said=_unread(others))


def _mapped(path: Path, made: Sequence[Sequence[Sheet]]) -> SheetsToQuote:
    """The sheets by what the map finds in each."""
    cracks = [sheet for parts in made for sheet in parts if sheet.table == "cracks"]
    if not cracks:
        raise UnreadableFileError(
            f"{path.name}: the column map finds no cracks in it; give it a section [cracks.columns]"
        )
    found = _only(path, cracks)
    beside: list[Sheet] = []
    apart: list[Sheet] = []
    for parts in made:
        holder = beside if any(sheet is found for sheet in parts) else apart
        holder += [sheet for sheet in parts if sheet.table == "jobs"]
    read = [parts for parts in made if any(sheet.table in {"cracks", "jobs"} for sheet in parts)]
    return SheetsToQuote(
        _with_jobs(found, beside),
        (*(_others(found, sheet) for sheet in beside), *apart),
        apart=bool(apart),
        dropped=tuple(dict.fromkeys(name for parts in read for sheet in parts for name in sheet.dropped)),
        said=_unread([sheet for parts in made if parts not in read for sheet in parts]),
    )


def _unread(sheets: Sequence[Sheet]) -> tuple[str, ...]:
    names = words.listed(list(dict.fromkeys(words.as_written(sheet.names[0]) for sheet in sheets)))
    return (f"What no quote reads, left out: the rows of {names}.",) if names else ()


def _with_jobs(cracks: Sheet, jobs: Sequence[Sheet]) -> Sheet:
    """The cracks with what the same rows say of their jobs."""
    for sheet in jobs:
        more = [name for name in sheet.headers if name not in cracks.headers]
        beside = sheet.cells.select(more).with_columns(row=sheet.numbers)
        cells = cracks.cells.with_columns(row=cracks.numbers).join(beside, on="row", how="left", maintain_order="left")
        days = {name: _beside(cracks, sheet, mask) for name, mask in sheet.days.items() if name in more}
        here = pl.col("row").is_in(cracks.numbers.implode()) & pl.col("column").is_in(more)
        cracks = replace(
            cracks,
            cells=cells.drop("row").with_columns(pl.col(more).fill_null("")),
            days={**days, **cracks.days},
            faults=pl.concat([cracks.faults, sheet.faults.filter(here)]),
            written={**sheet.written, **cracks.written},
        )
    return cracks


def _beside(cracks: Sheet, jobs: Sheet, mask: pl.Series) -> pl.Series:
    """What a mask over the rows of jobs says of the rows of the cracks."""
    return cracks.numbers.is_in(jobs.numbers.filter(mask).implode())


def _others(cracks: Sheet, jobs: Sheet) -> Sheet:
    """The rows of jobs that no crack stands in."""
    others = ~jobs.numbers.is_in(cracks.numbers.implode())
    numbers = jobs.numbers.filter(others)
    return replace(
        jobs,
        cells=jobs.cells.filter(others),
        numbers=numbers,
        days={name: mask.filter(others) for name, mask in jobs.days.items()},
        faults=jobs.faults.filter(pl.col("row").is_in(numbers.implode())),
    )


def _only(path: Path, sheets: Sequence[Sheet]) -> Sheet:
    if len(sheets) > 1:
        names = [sheet.names[0] for sheet in sheets[:SHOWN_SHEETS]] + ["…"] * (len(sheets) > SHOWN_SHEETS)
        raise UnreadableFileError(
            f"{path.name}: {len(sheets)} sheets hold something ({', '.join(names)}), and one is quoted; "
            "save each sheet of cracks as a file of its own"
        )
    return sheets[0]

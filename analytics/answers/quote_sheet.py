"""The one sheet of a file of cracks to be quoted: under our own headers, or read by a business's column map."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

import polars as pl

from analytics.errors import UnreadableFileError
from analytics.intake import ColumnMap, Sheet, apply, open_sources, read_source

SHOWN_SHEETS = 3


def sheet_to_quote(path: Path, ours: Collection[str], column_map: ColumnMap | None = None) -> Sheet:
    """The sheet of the file at ``path`` that holds cracks; under a map its headers are ours, and what it says is kept.

    What the map says of jobs is taken where it stands in the rows of the cracks.

    Raises:
        UnreadableFileError: the file cannot be read, or several of its sheets or none hold cracks.
        MapError: the sheet lacks a header that the map names.
    """
    [source] = open_sources([path])
    known = {*ours, *column_map.headers} if column_map else ours
    sheets = read_source(source, known)
    if column_map is None:
        return _only(path, sheets)
    made = [apply(column_map, sheet) for sheet in sheets]
    cracks = [sheet for parts in made for sheet in parts if sheet.table == "cracks"]
    if not cracks:
        raise UnreadableFileError(
            f"{path.name}: the column map finds no cracks in it; give it a section [cracks.columns]"
        )
    found = _only(path, cracks)
    [beside] = (parts for parts in made if any(sheet is found for sheet in parts))
    found = replace(found, dropped=tuple(name for sheet in beside for name in sheet.dropped))
    return _with_jobs(found, [sheet for sheet in beside if sheet.table == "jobs"])


def _with_jobs(cracks: Sheet, jobs: Sequence[Sheet]) -> Sheet:
    """The cracks with what the same rows say of their jobs."""
    for sheet in jobs:
        more = [name for name in sheet.headers if name not in cracks.headers]
        beside = sheet.cells.select(more).with_columns(row=sheet.numbers)
        cells = cracks.cells.with_columns(row=cracks.numbers).join(beside, on="row", how="left", maintain_order="left")
        days = {name: mask for name, mask in sheet.days.items() if name in more and len(mask) == cells.height}
        cracks = replace(
            cracks,
            cells=cells.drop("row").with_columns(pl.col(more).fill_null("")),
            days={**days, **cracks.days},
            written={**sheet.written, **cracks.written},
        )
    return cracks


def _only(path: Path, sheets: Sequence[Sheet]) -> Sheet:
    if len(sheets) > 1:
        names = [sheet.names[0] for sheet in sheets[:SHOWN_SHEETS]] + ["…"] * (len(sheets) > SHOWN_SHEETS)
        raise UnreadableFileError(
            f"{path.name}: {len(sheets)} sheets hold something ({', '.join(names)}), and one is quoted; "
            "save each sheet of cracks as a file of its own"
        )
    return sheets[0]

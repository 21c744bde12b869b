"""A work list come back: rejected rows mended cell by cell, made whole again with the sound cells the store kept."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import groupby

import polars as pl

from analytics.contract.batch import MENDED_COLUMNS, no_rows
from analytics.contract.descriptions import unit
from analytics.contract.tables import TABLES
from analytics.errors import UnreadableFileError
from analytics.intake.sheet import Sheet, Written, plain

WORK_LIST = "rejects"
WORK_COLUMNS = ("table", "file", "row", "column", "cell", "reason", "nearest", "unit", "mended")
"""The columns of a work list, in order; ``mended`` is the one to fill in."""
NEEDED = {"table", "file", "row", "column", "mended"}
LEFT_BLANK = "blank"
"""Written as mended where a cell is to hold nothing."""
UNIT_WORDS = {"m": "m", "mm": "mm", "L": "L", "min": "min", "person-min": "min", "°C": "°C", "months": "months"}
Place = tuple[str, str, int]


@dataclass(frozen=True)
class Mended:
    """Mended rows as sheets of their tables, under the file and row they were first read from.

    ``rows`` names them (table, file, row); ``settled`` counts, by table, rows of the list that wait no longer.
    """

    sheets: tuple[Sheet, ...] = ()
    rows: pl.DataFrame = field(default_factory=lambda: no_rows(MENDED_COLUMNS))
    settled: Mapping[str, int] = field(default_factory=dict)


def is_work_list(sheet: Sheet) -> bool:
    """Whether a sheet is a list of rejected cells with a column for what they should be."""
    return set(map(plain, sheet.headers)) >= NEEDED


def mend(lists: Iterable[Sheet], waiting: pl.DataFrame, rejected: pl.DataFrame) -> Mended:
    """The rows of work lists in which every faulty cell has been mended; the others wait on.

    Args:
        lists: work lists as read.
        waiting: the store's rejected rows still to be mended: table, file, row, column, sound (JSON of its good cells;
            null where its cells may have shifted).
        rejected: every row ever rejected: table, file, row.

    Raises:
        UnreadableFileError: a line that is about no rejected row, or about one that can only be mended in its file.
    """
    sound: dict[Place, str | None] = {}
    faulty: dict[Place, set[str]] = {}
    for table, file, row, column, kept in waiting.select("table", "file", "row", "column", "sound").iter_rows():
        sound[table, file, row] = kept
        faulty.setdefault((table, file, row), set()).add(column)
    ever = set(rejected.select("table", "file", "row").iter_rows())
    made: dict[Place, dict[str, str]] = {}
    settled: dict[str, int] = {}
    for listed in lists:
        for place, cells in _mended_cells(listed):
            if place not in ever:
                raise UnreadableFileError(f"{listed.file}: row {place[2]} of {place[1]} was never rejected")
            if place not in sound:
                settled[place[0]] = settled.get(place[0], 0) + 1
            elif (kept := sound[place]) is None:
                raise UnreadableFileError(
                    f"{place[1]}, row {place[2]}: its cells may have shifted; mend it in its file"
                )
            elif faulty[place] <= cells.keys():
                made[place] = {name: value or "" for name, value in json.loads(kept).items()} | cells
    rows = pl.DataFrame(list(made), schema=MENDED_COLUMNS, orient="row")
    return Mended(tuple(_sheets(made)), rows, settled)


def _mended_cells(listed: Sheet) -> Iterator[tuple[Place, dict[str, str]]]:
    """What a work list says each row's cells should be, row by row; lines left unmended are left out."""
    names = {plain(header): header for header in listed.headers}
    lines = listed.cells.select(pl.col(names[name]).str.strip_chars().alias(name) for name in sorted(NEEDED))
    places: dict[Place, dict[str, str]] = {}
    for line in lines.filter(pl.col("mended") != "").iter_rows(named=True):
        table, row = line["table"], line["row"].removesuffix(".0")
        if table not in TABLES or line["column"] not in TABLES[table].columns() or not row.isdigit():
            raise UnreadableFileError(f"{listed.file}: the columns table, file, row and column must stay as they were")
        value = "" if plain(line["mended"]) == LEFT_BLANK else line["mended"]
        places.setdefault((table, line["file"], int(row)), {})[line["column"]] = value
    if not places:
        raise UnreadableFileError(f"{listed.file}: nothing is mended; write what each cell should be under mended")
    yield from places.items()


def _sheets(made: Mapping[Place, Mapping[str, str]]) -> Iterator[Sheet]:
    """Mended rows as sheets, one for the rows of a table and file that have the same columns."""

    def alike(place: Place) -> tuple[str, str, tuple[str, ...]]:
        return place[0], place[1], tuple(name for name in TABLES[place[0]].column_names() if name in made[place])

    for (table, file, names), places in groupby(sorted(made, key=lambda p: (alike(p), p[2])), key=alike):
        rows = list(places)
        cells = {name: pl.Series([made[place][name] for place in rows], dtype=pl.String) for name in names}
        numbers = pl.Series("row", [row for _, _, row in rows], dtype=pl.Int64)
        written = {name: _as_mended(table, name) for name in names}
        yield Sheet((table,), file, "", pl.DataFrame(cells), numbers, table=table, written=written)


def _as_mended(table: str, name: str) -> Written:
    """A mended cell may name its unit; without one it is in the contract's."""
    return Written(unit=UNIT_WORDS.get(unit(TABLES[table].columns()[name]), ""), loose=True)


def work_list(rejects: pl.DataFrame) -> pl.DataFrame:
    """Rejected cells as a work list to be filled in."""
    units = {
        (table, name): unit(column) for table, schema in TABLES.items() for name, column in schema.columns().items()
    }
    said = [units.get((table, name), "") for table, name in rejects.select("table", "column").iter_rows()]
    return rejects.with_columns(unit=pl.Series(said, dtype=pl.String), mended=pl.lit(None, pl.String)).select(
        WORK_COLUMNS
    )

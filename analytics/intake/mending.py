"""A work list come back: rejected rows mended cell by cell, made whole again with the sound cells the store kept."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import groupby

import dataframely as dy
import polars as pl

from analytics.contract.batch import MENDED_COLUMNS, WAITING_COLUMNS, no_rows, no_waiting
from analytics.contract.descriptions import unit
from analytics.contract.tables import TABLES
from analytics.errors import UnreadableFileError
from analytics.intake.sheet import Sheet, Written, plain
from analytics.intake.units import IN_A_MAP

WORK_LIST = "rejects"
WORK_COLUMNS = ("table", "file", "row", "key", "column", "cell", "reason", "nearest", "unit", "mended")
"""The columns of a work list, in order; ``mended`` is the one to fill in, ``key`` may be left out."""
NEEDED = {"table", "file", "row", "column", "mended"}
LEFT_BLANK = "blank"
"""Written as mended where a cell is to hold nothing."""
READ_COLUMNS = {"table": pl.String, "key": pl.String, "batch": pl.Int64}
ABOUT = {"cracks": ("job_id",), "callbacks": ("job_id",), "reviews": ("crack_id",)}
"""What a row is about, by table: of one key, rows about different jobs or cracks are not the same row."""
Place = tuple[str, str, int]
Cells = dict[str, str]


@dataclass(frozen=True)
class Mended:
    """Mended rows as sheets of their tables, under the file and row they were first read from.

    ``rows`` names those known by their place alone (table, file, row); ``settled`` counts, by table, rows of the list
    that wait no longer; ``awaited`` names all that waited until now, mended or not (table, key). ``taken`` are the keys
    read since the first of ``rows`` was rejected (table, key, batch), and ``since`` when each was. ``named`` are those
    known by their key, under the name of their list: they wait no longer as they were, whatever becomes of them.
    """

    sheets: tuple[Sheet, ...] = ()
    rows: pl.DataFrame = field(default_factory=lambda: no_rows(MENDED_COLUMNS))
    settled: Mapping[str, int] = field(default_factory=dict)
    awaited: pl.DataFrame = field(default_factory=lambda: no_rows({"table": pl.String, "key": pl.String}))
    since: pl.DataFrame = field(default_factory=lambda: no_rows({**MENDED_COLUMNS, "since": pl.Int64}))
    taken: pl.DataFrame = field(default_factory=lambda: no_rows(READ_COLUMNS))
    named: pl.DataFrame = field(default_factory=no_waiting)


@dataclass(frozen=True)
class Rejected:
    """A rejected row: where it was read, its key (empty where it could not be read), faulty columns, sound cells.

    ``about``: the job, or the crack, that it is about; empty where it is about none or that could not be read.
    ``mended``: it has been read since from a work list.
    """

    place: Place
    key: str
    about: str
    faulty: frozenset[str]
    sound: str | None
    mended: bool

    @property
    def name(self) -> tuple[object, ...]:
        """What it is known by: its key with what it is about, else its place."""
        return (self.place[0], self.key, self.about) if self.key else self.place

    @property
    def identity(self) -> str:
        """Of its sound cells, as JSON, those that say which row it is."""
        cells = json.loads(self.sound or "{}")
        return json.dumps({name: cells.get(name) for name in identity(self.place[0])})

    def among(self, waits: Mapping[tuple[object, ...], "Rejected"]) -> "Rejected":
        """This row as it waits; itself where it does not."""
        by_key = (self.place[0], self.key)
        return waits.get(self.name) or waits.get((*by_key, "")) or (not self.about and waits.get(by_key)) or self


def identity(table: str) -> list[str]:
    """The columns that say which row one is: its key, and the job or crack that it is about."""
    return [*TABLES[table].primary_key(), *ABOUT.get(table, ())]


def is_work_list(sheet: Sheet) -> bool:
    """Whether a sheet is a list of rejected cells with a column for what they should be."""
    return set(map(plain, sheet.headers)) >= NEEDED


def mend(lists: Iterable[Sheet], waiting: pl.DataFrame, rejected: pl.DataFrame, taken: pl.DataFrame) -> Mended:
    """The rows of work lists in which every faulty cell has been mended; the others wait on.

    A row that was rejected again since its list was written is mended as it was read last. One whose key has been read
    since is left as it is, and one without a key that was mended before; any other without a key may be nowhere in the
    store, so it is read.

    Args:
        lists: work lists as read.
        waiting: the store's rejected rows still to be mended, one row a fault: batch, table, file, row, key, about,
            column, sound (JSON of its good cells; null where its cells may have shifted), mended, again.
        rejected: every row ever rejected, likewise.
        taken: every key ever read: table, key, batch.

    Raises:
        UnreadableFileError: a line that is about no rejected row, that does not say about which, or that is about one
            that can only be mended in its file; two rows of one place.
    """
    waits = {name: row for row in _rows(waiting) for name in (row.name, row.name[:2])}
    ever: dict[Place, dict[str, Rejected]] = {}
    for row in _rows(rejected):
        ever.setdefault(row.place, {})[row.key] = row
    for row in waits.values():
        ever[row.place][row.key] = row
    mended: dict[tuple[object, ...], tuple[Place, Cells]] = {}
    settled: dict[str, int] = {}
    named: list[tuple[str, str, int, str]] = []
    for listed in lists:
        for place, key, cells in _mended_cells(listed):
            meant = _meant(listed.file, place, key, ever.get(place, {}))
            row = meant.among(waits)
            if row.name not in waits and (row.key or row.mended):
                settled[place[0]] = settled.get(place[0], 0) + 1
            elif (sound := row.sound) is None:
                raise UnreadableFileError(
                    f"{place[1]}, row {place[2]}: its cells may have shifted; mend it in its file"
                )
            elif row.faulty <= cells.keys():
                kept = {name: value or "" for name, value in json.loads(sound).items()}
                mended[row.name] = row.place, kept | cells
                named += [(place[0], listed.file, row.place[2], row.identity)] if row.key else []
    made = _one_a_place(mended.values())
    rows = pl.DataFrame([name for name in mended if name in made], schema=MENDED_COLUMNS, orient="row")
    unnamed = rejected.filter(pl.col("key").is_null() & ~pl.col("again"))
    since = unnamed.group_by("table", "file", "row").agg(since=pl.col("batch").max())
    since = rows.join(since, on=list(MENDED_COLUMNS))
    told = pl.DataFrame(named, schema=WAITING_COLUMNS, orient="row")
    return Mended(tuple(_sheets(made)), rows, settled, waiting.select("table", "key"), since, taken, told)


def _rows(faults: pl.DataFrame) -> Iterator[Rejected]:
    """Faulty cells as rows, those of the earliest load first."""
    keys = ("batch", "table", "file", "row", "key", "about", "sound", "mended")
    places = faults.sort("batch").group_by(keys, maintain_order=True).agg("column")
    for _, table, file, row, key, about, sound, mended, columns in places.iter_rows():
        yield Rejected((table, file, row), key or "", about or "", frozenset(columns), sound, mended)


def _meant(listed: str, place: Place, key: str | None, rows: Mapping[str, Rejected]) -> Rejected:
    """Which of the rows ever rejected at a place a line is about: files of one name have had several there."""
    if not rows:
        raise UnreadableFileError(f"{listed}: row {place[2]} of {place[1]} was never rejected")
    if key is None and len(rows) == 1:
        [key] = rows
    if key is None or key not in rows:
        raise UnreadableFileError(f"{listed}: which row {place[2]} of {place[1]}? The column key must stay as it was")
    return rows[key]


def _one_a_place(rows: Iterable[tuple[Place, Cells]]) -> dict[Place, Cells]:
    """Whole rows by their places, by which their faults and warnings are told."""
    made: dict[Place, Cells] = {}
    for place, cells in rows:
        if place in made:
            said = f"row {place[2]} of {place[1]} is listed for two rows"
            raise UnreadableFileError(f"{said}: mend one, load the list, then mend the other")
        made[place] = cells
    return made


def _mended_cells(listed: Sheet) -> Iterator[tuple[Place, str | None, Cells]]:
    """What a work list says each row's cells should be, row by row; lines left unmended are left out.

    With each its key, empty where it has none; None where the list does not say.
    """
    names = {plain(header): header for header in listed.headers}
    told = sorted(NEEDED | ({"key"} & names.keys()))
    lines = listed.cells.select(pl.col(names[name]).str.strip_chars().alias(name) for name in told)
    rows: dict[tuple[Place, str | None], Cells] = {}
    for line in lines.filter(pl.col("mended") != "").iter_rows(named=True):
        table, row = line["table"], line["row"].removesuffix(".0")
        if table not in TABLES or line["column"] not in TABLES[table].columns() or not row.isdigit():
            raise UnreadableFileError(f"{listed.file}: the columns table, file, row and column must stay as they were")
        value = "" if plain(line["mended"]) == LEFT_BLANK else line["mended"]
        rows.setdefault(((table, line["file"], int(row)), line.get("key")), {})[line["column"]] = value
    if not rows:
        raise UnreadableFileError(f"{listed.file}: nothing is mended; write what each cell should be under mended")
    for (place, key), cells in rows.items():
        yield place, key, cells


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
    return Written(unit=IN_A_MAP.get(unit(TABLES[table].columns()[name]), ""), loose=True)


def _unit_said(column: dy.Column) -> str:
    """A column's unit; of a price, of what it is the price of one."""
    per = (column.metadata or {}).get("per")
    return f"{unit(column)} per {', '.join(per)} or piece, as its item is priced" if per else unit(column)


def work_list(rejects: pl.DataFrame) -> pl.DataFrame:
    """Rejected cells as a work list to be filled in."""
    columns = {(table, name): column for table, schema in TABLES.items() for name, column in schema.columns().items()}
    units = {place: _unit_said(column) for place, column in columns.items()}
    said = [units.get(place, "") for place in rejects.select("table", "column").iter_rows()]
    return rejects.with_columns(unit=pl.Series(said, dtype=pl.String), mended=pl.lit(None, pl.String)).select(
        WORK_COLUMNS
    )

"""What a load carries from the door to the store."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import polars as pl

FAULT_COLUMNS = {"table": pl.String, "file": pl.String, "row": pl.Int64, "column": pl.String, "reason": pl.String}
REJECT_COLUMNS = {**FAULT_COLUMNS, "cell": pl.String, "nearest": pl.String}
WAITING_COLUMNS = {"table": pl.String, "file": pl.String, "row": pl.Int64, "sound": pl.String}
MENDED_COLUMNS = {"table": pl.String, "file": pl.String, "row": pl.Int64}


def no_rows(columns: dict[str, type[pl.DataType]]) -> pl.DataFrame:
    """An empty frame of these columns."""
    return pl.DataFrame(schema=columns)


def no_rejects() -> pl.DataFrame:
    """An empty list of rejected cells: table, file, row (the header is row 1), column, reason, cell, nearest."""
    return no_rows(REJECT_COLUMNS)


def no_warnings() -> pl.DataFrame:
    """An empty list of warnings: table, file, row, column, reason."""
    return no_rows(FAULT_COLUMNS)


def no_waiting() -> pl.DataFrame:
    """An empty list of rejected rows with their sound cells as JSON: table, file, row, sound."""
    return no_rows(WAITING_COLUMNS)


@dataclass(frozen=True)
class FileRead:
    """One file as it was read: its table, its name without folders, and the hash of its bytes."""

    table: str
    file: str
    sha256: str


@dataclass(frozen=True)
class Part:
    """Clean rows with the contract's columns and types; ``absent`` names the columns that their files do not have."""

    rows: pl.DataFrame
    absent: frozenset[str] = frozenset()


@dataclass(frozen=True)
class CheckedTable:
    """The rows of one table, split at the door.

    ``parts`` hold the clean rows, one row a key; an absent column leaves a known row's value as it is. ``read`` counts
    every row of the files; ``repeated`` those that only repeat another row of the same load or one mended before.
    ``rejects`` are the faulty cells, ``waiting`` the sound cells of their rows, coded where they are private, and the
    keys of clean rows that were rejected before; ``warnings`` are about rows that are clean but odd.
    """

    parts: tuple[Part, ...]
    read: int
    repeated: int = 0
    rejects: pl.DataFrame = field(default_factory=no_rejects)
    waiting: pl.DataFrame = field(default_factory=no_waiting)
    warnings: pl.DataFrame = field(default_factory=no_warnings)

    @property
    def clean(self) -> pl.DataFrame:
        """The clean rows, one row a key."""
        return pl.concat(part.rows for part in self.parts)

    @property
    def absent(self) -> frozenset[str]:
        """The columns that no file has."""
        return frozenset.intersection(*(part.absent for part in self.parts))

    @property
    def rejected(self) -> int:
        """How many rows were rejected; one row may have several reasons."""
        return self.rejects.select("file", "row").unique().height


@dataclass(frozen=True)
class Batch:
    """Everything one load brings: a checked table by name, the files, and the columns that were dropped.

    ``mended`` names rows that were read one by one: typed by hand, or mended in a work list where they had no key.
    """

    tables: dict[str, CheckedTable]
    files: tuple[FileRead, ...]
    dropped_columns: tuple[str, ...] = ()
    mended: pl.DataFrame = field(default_factory=lambda: no_rows(MENDED_COLUMNS))

    @property
    def rejects(self) -> pl.DataFrame:
        """All rejected cells, in the order of table, file and row."""
        return _joined(no_rejects(), (table.rejects for table in self.tables.values()))

    @property
    def warnings(self) -> pl.DataFrame:
        """All warnings, in the order of table, file and row."""
        return _joined(no_warnings(), (table.warnings for table in self.tables.values()))

    @property
    def waiting(self) -> pl.DataFrame:
        """The sound cells of every rejected row that can be mended cell by cell; the keys of rows waited for before."""
        return _joined(no_waiting(), (table.waiting for table in self.tables.values()))


def _joined(empty: pl.DataFrame, frames: Iterable[pl.DataFrame]) -> pl.DataFrame:
    return pl.concat([empty, *frames])


@dataclass(frozen=True)
class TableCount:
    """read = loaded + unchanged + rejected."""

    read: int
    loaded: int
    unchanged: int
    rejected: int

"""What a load carries from the door to the store."""

from dataclasses import dataclass, field

import polars as pl

REJECT_COLUMNS = {"table": pl.String, "file": pl.String, "row": pl.Int64, "column": pl.String, "reason": pl.String}


def no_rejects() -> pl.DataFrame:
    """An empty list of rejected cells: table, file, row (the header is row 1), column, reason."""
    return pl.DataFrame(schema=REJECT_COLUMNS)


@dataclass(frozen=True)
class FileRead:
    """One file as it was read: its table, its name without folders, and the hash of its bytes."""

    table: str
    file: str
    sha256: str


@dataclass(frozen=True)
class CheckedTable:
    """The rows of one table, split at the door.

    ``clean`` has the contract's columns and types, one row a key; ``read`` counts every row of the files;
    ``repeated`` those that only repeat another row of the same load; ``absent`` names the contract's columns
    that the files do not have, which leave a known row's values as they are.
    """

    clean: pl.DataFrame
    read: int
    repeated: int = 0
    rejects: pl.DataFrame = field(default_factory=no_rejects)
    absent: frozenset[str] = frozenset()

    @property
    def rejected(self) -> int:
        """How many rows were rejected; one row may have several reasons."""
        return self.rejects.select("file", "row").unique().height


@dataclass(frozen=True)
class Batch:
    """Everything one load brings: a checked table by name, the files, and the columns that were dropped."""

    tables: dict[str, CheckedTable]
    files: tuple[FileRead, ...]
    dropped_columns: tuple[str, ...] = ()

    @property
    def rejects(self) -> pl.DataFrame:
        """All rejected cells, in the order of table, file and row."""
        return pl.concat([no_rejects(), *(table.rejects for table in self.tables.values())])


@dataclass(frozen=True)
class TableCount:
    """read = loaded + unchanged + rejected."""

    read: int
    loaded: int
    unchanged: int
    rejected: int

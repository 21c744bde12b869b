"""A table of text as the business wrote it, and how each of its columns is to be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import polars as pl

FAULTS = {"row": pl.Int64, "column": pl.String, "reason": pl.String}
Mark = Literal["point", "comma", "both"]
"""The decimal mark; both: the file writes either, so a mark before three digits could be of thousands."""


@dataclass(frozen=True)
class Written:
    """How the cells of one column are written; by default as the contract wants them.

    ``unit`` is one of ``UNITS``, or empty for plain numbers in the contract's unit. ``day_format`` is in strptime's
    codes. ``words`` maps their words, plainly written, to ours; ``blank`` are their words for nothing recorded.
    ``loose``: a column map speaks for the column, so currency signs, thousands and written units are read.
    ``keyed``: its texts are replaced by keyed codes.
    """

    unit: str = ""
    day_format: str = ""
    mark: Mark | None = None
    words: Mapping[str, str] = field(default_factory=dict)
    blank: frozenset[str] = frozenset()
    loose: bool = False
    keyed: bool = False


AS_IN_THE_CONTRACT = Written()


@dataclass(frozen=True)
class Sheet:
    """One table of a file as text.

    Each of ``names`` may name the table: the sheet's name, the file's. ``cells`` has a column of text a header, and
    ``numbers`` the number a spreadsheet shows beside each row (a header in the first row is row 1). ``days`` marks the
    cells that the spreadsheet itself holds as days, by header. ``day_zero`` is added to a plain number to make it days
    since 1899-12-30; None where numbers are never days. ``faults`` are what the reader met: row, header, reason.
    ``table`` is empty until it is settled which of our tables this is; from then on the headers are our columns'
    names, ``written`` says how they are read, and ``dropped`` names the headers left out. ``following`` is, where the
    keys were counted, the key that one more row like each would have.
    """

    names: tuple[str, ...]
    file: str
    sha256: str
    cells: pl.DataFrame
    numbers: pl.Series
    days: Mapping[str, pl.Series] = field(default_factory=dict)
    day_zero: int | None = None
    faults: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=FAULTS))
    table: str = ""
    written: Mapping[str, Written] = field(default_factory=dict)
    dropped: tuple[str, ...] = ()
    following: pl.Series | None = None

    @property
    def headers(self) -> list[str]:
        """The names of the columns."""
        return self.cells.columns


def filled_rows(cells: pl.DataFrame) -> pl.Series:
    """Which rows hold anything but spaces; the first column, nearly always filled, is looked at alone first."""
    first = cells.to_series(0).str.strip_chars() != ""
    return first if first.all() else cells.select(pl.any_horizontal(pl.all().str.strip_chars() != "")).to_series()


def plain(text: str) -> str:
    """A header or a word as it is compared: capitals, spacing, dashes and underscores make no difference."""
    return "_".join(text.casefold().replace("-", " ").replace("_", " ").split())

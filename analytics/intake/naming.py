"""Which of our tables a sheet is, and which of our columns its headers are, where the business uses our names."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES
from analytics.errors import UnknownNameError, UnreadableFileError, counted
from analytics.intake.days import SEEM_SWAPPED, are_all_iso, look_swapped
from analytics.intake.discretion import PHONE_DIGITS
from analytics.intake.sheet import Sheet, plain

NUMBERED = re.compile(r"[_.()\d]+$")
UNNAMED = re.compile(r"^column \d+$")
KNOWN = frozenset(column for table in TABLES.values() for column in table.column_names())
"""The contract's column names, by which a header is recognised."""


def table_of(sheet: Sheet) -> str | None:
    """The table a sheet's name or its file's stem names (``Jobs``, ``jobs (1)``, ``jobs-2024``), or None."""
    names = (NUMBERED.sub("", plain(name)) for name in sheet.names)
    return next((name for name in names if name in TABLES), None)


def as_named(sheet: Sheet) -> Sheet:
    """The sheet as the table it names, its headers our columns; those that are not ours dropped and named.

    Raises:
        UnknownNameError: no table has such a name.
        UnreadableFileError: a column that must be there is missing.
    """
    table = table_of(sheet)
    if table is None:
        raise _unknown(sheet)
    declared = TABLES[table].columns()
    ours = {header: plain(header) for header in sheet.headers if plain(header) in declared}
    needed = [name for name, column in declared.items() if not column.nullable]
    if missing := [name for name in needed if name not in ours.values()]:
        found = ", ".join(said_header(header) for header in sheet.headers)
        many = "required columns" if len(missing) > 1 else "required column"
        raise UnreadableFileError(f"{sheet.file}: missing {counted(missing, many)}; its columns are {found}")
    cells = sheet.cells.select(*ours).rename(ours)
    _refuse_swapped(sheet.file, {name: cells[name] for name in cells.columns if isinstance(declared[name], dy.Date)})
    return replace(
        sheet,
        table=table,
        cells=cells,
        days={ours[header]: mask for header, mask in sheet.days.items() if header in ours},
        faults=renamed_faults(sheet, list(ours.items())),
        dropped=dropped(sheet, set(ours)),
    )


def _refuse_swapped(file: str, columns: Mapping[str, pl.Series]) -> None:
    for name, cells in columns.items():
        if are_all_iso(cells):  # most files: a spreadsheet that swapped days left others as text
            continue
        if any(look_swapped(cells.str.strip_chars(), codes) for codes in ("%d/%m/%Y", "%m/%d/%Y")):
            raise UnreadableFileError(f"{file}: in {name}, {SEEM_SWAPPED}; write all of them as 2026-03-31")


def dropped(sheet: Sheet, used: set[str]) -> tuple[str, ...]:
    """The headers left out; a column without a header and without a cell is none."""
    left = [header for header in sheet.headers if header not in used]
    return tuple(said_header(h) for h in left if not UNNAMED.match(h) or (sheet.cells[h].str.strip_chars() != "").any())


def said_header(header: str) -> str:
    """A header as it may be repeated: where a file has none, its first row may hold anybody's number or mail."""
    private = "@" in header or sum(sign.isdigit() for sign in header) >= PHONE_DIGITS
    return "(a header not shown)" if private else header


def renamed_faults(sheet: Sheet, used: Sequence[tuple[str, str]]) -> pl.DataFrame:
    """The reader's faults under our columns' names (header, ours); those of columns left out are nobody's concern."""
    names = pl.DataFrame([("", ""), *used], schema={"column": pl.String, "ours": pl.String}, orient="row")
    return sheet.faults.join(names, on="column", maintain_order="left").select(
        "row", pl.col("ours").alias("column"), "reason"
    )


def _unknown(sheet: Sheet) -> UnknownNameError:
    return UnknownNameError(f"table name in {sheet.file}", sheet.names[0], TABLES)

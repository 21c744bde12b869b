"""From files to a checked batch: each row clean or rejected with its reasons, none lost."""

from collections.abc import Iterable
from datetime import date
from pathlib import Path

import polars as pl

from analytics.contract.batch import Batch, CheckedTable, FileRead
from analytics.contract.tables import TABLES
from analytics.errors import UnreadableFileError, counted
from analytics.intake import checking
from analytics.intake.known import Known
from analytics.intake.privacy import Keyring
from analytics.intake.reading import ROW, Sheet, find_files, read_sheet
from analytics.intake.typing_cells import typed

CODED = {("jobs", "site_id"): Keyring.site_codes, ("jobs", "crew_id"): Keyring.crew_codes}


def read_files(paths: Iterable[Path]) -> list[Sheet]:
    """Every file of the given files and folders as text; one clear error where one cannot be used."""
    sheets = [read_sheet(path) for path in find_files(paths)]
    for sheet in sheets:
        needed = [name for name, column in TABLES[sheet.table].columns().items() if not column.nullable]
        if missing := [name for name in needed if name not in sheet.rows.columns]:
            found = ", ".join(name for name in sheet.rows.columns if name != ROW)
            raise UnreadableFileError(
                f"{sheet.file}: missing {counted(missing, 'required columns')}; its columns are {found}"
            )
    return sheets


def check(sheets: Iterable[Sheet], keyring: Keyring, known: Known, *, today: date) -> Batch:
    """Type, code and check the sheets.

    Args:
        sheets: as read.
        keyring: turns sites and personal crew names into codes.
        known: the store's rows that new rows may refer to.
        today: the load date; nothing recorded can be later.

    Returns:
        The batch; for every table, rows read = clean + repeated + rejected.
    """
    sheets = list(sheets)
    tables: dict[str, CheckedTable] = {}
    for name in TABLES:  # in the order in which they refer to each other
        parts = [_typed(sheet, keyring) for sheet in sheets if sheet.table == name]
        if not parts:
            continue
        draft = checking.check_keys(checking.merge(parts))
        draft = checking.check_days(checking.check_rows(draft), today)
        draft = checking.check_references(draft, known)
        tables[name] = checking.finish(draft, read=sum(part.frame.height for part in parts))
        known = known.with_rows(name, tables[name].clean)
    files = tuple(FileRead(sheet.table, sheet.file, sheet.sha256) for sheet in sheets)
    dropped = {
        column
        for sheet in sheets
        for column in sheet.rows.columns
        if column not in {ROW, *TABLES[sheet.table].columns()}
    }
    return Batch(tables, files, tuple(sorted(dropped)))


def _typed(sheet: Sheet, keyring: Keyring) -> checking.Draft:
    """A sheet's cells in the contract's types, with the faults met on the way."""
    numbers = sheet.rows[ROW]
    columns: list[pl.Series] = []
    faults: list[tuple[int, str, str]] = []
    for name, column in TABLES[sheet.table].columns().items():
        if name not in sheet.rows.columns:
            columns.append(pl.Series(name, [None] * sheet.rows.height, dtype=column.dtype))
            continue
        values, reasons = typed(sheet.rows[name], column, decimal_comma=sheet.decimal_comma)
        coder = CODED.get((sheet.table, name))
        columns.append(coder(keyring, values) if coder else values)
        faults += [(numbers[position], name, reason) for position, reason in reasons.items()]
    width = sheet.rows.width - 1
    faults += [(row, "", f"the row has {cells} cells, the header {width}") for row, cells in sheet.ragged.items()]
    absent = frozenset(TABLES[sheet.table].column_names()) - set(sheet.rows.columns)
    frame = pl.DataFrame(columns).with_columns(pl.lit(sheet.file).alias("file"), numbers)
    return checking.Draft(sheet.table, frame, checking.faults_frame(sheet.table, sheet.file, faults), absent)

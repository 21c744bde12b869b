"""Files brought to the door in memory, and what became of each row."""

import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.contract.batch import Batch
from analytics.intake import Keyring, Known, Source, check, parse_map, read_sources
from tests.histories import TODAY

Rows = Sequence[Sequence[object]]
NOTHING = Known.nothing()
xlsxwriter = pytest.importorskip("xlsxwriter")


def brought(files: Mapping[str, bytes], column_map: str = "", known: Known | None = None) -> Batch:
    """The batch that files make, by name, read under a column map where there is one."""
    sources = [Source(name, content) for name, content in files.items()]
    sheets = read_sources(sources, parse_map(column_map) if column_map else None)
    keyring = Keyring(Path("nowhere"), b"a key for tests only, 32 bytes..")
    return check(sheets, keyring, known or NOTHING, today=TODAY)


def counts(batch: Batch, table: str) -> tuple[int, int, int, int]:
    """Rows of a table read, clean, only repeated, rejected; the first is the sum of the others."""
    found = batch.tables[table]
    clean = found.clean.height if found.parts else 0
    assert found.read == clean + found.repeated + found.rejected, table
    return found.read, clean, found.repeated, found.rejected


def clean(batch: Batch, table: str, *columns: str) -> list[tuple[Any, ...]]:
    """The clean rows of a table, some of their columns, in order of the first."""
    return batch.tables[table].clean.select(columns).sort(columns[0]).rows()


def faults(batch: Batch) -> list[tuple[int, str, str]]:
    """Row, column and reason of every rejected cell."""
    return [(row, column, reason) for _, _, row, column, reason, _, _ in batch.rejects.iter_rows()]


def csv_bytes(rows: Rows, delimiter: str = ",", encoding: str = "utf-8", ends: str = "\r\n") -> bytes:
    """Rows as a CSV file; a cell with the delimiter, a quotation mark or a line end is put in quotation marks."""

    def cell(value: object) -> str:
        text = "" if value is None else str(value)
        quoted = any(sign in text for sign in (delimiter, '"', "\n", "\r"))
        return '"' + text.replace('"', '""') + '"' if quoted else text

    return ends.join([*(delimiter.join(cell(value) for value in row) for row in rows), ""]).encode(encoding)


def parquet_bytes(frame: pl.DataFrame, **how: Any) -> bytes:
    """A frame as a Parquet file."""
    file = io.BytesIO()
    frame.write_parquet(file, **how)
    return file.getvalue()


class Book:
    """A workbook being written: rows of cells, days as days, formulas as (formula, value)."""

    def __init__(self, **options: Any) -> None:
        self.file = io.BytesIO()
        self.book = xlsxwriter.Workbook(self.file, options)
        self.day = self.book.add_format({"num_format": "yyyy-mm-dd"})
        self.fraction = self.book.add_format({"num_format": "d-mmm"})
        self.time = self.book.add_format({"num_format": "[h]:mm"})

    def sheet(self, name: str, rows: Rows, *, first_row: int = 0, first_column: int = 0) -> Any:
        """Write rows to a new sheet and give it, for what else is to be done with it."""
        sheet = self.book.add_worksheet(name)
        for row, cells in enumerate(rows, start=first_row):
            for column, value in enumerate(cells, start=first_column):
                self._write(sheet, row, column, value)
        return sheet

    def _write(self, sheet: Any, row: int, column: int, value: Any) -> None:
        if value is None:
            return
        if isinstance(value, tuple):
            sheet.write_formula(row, column, value[0], None, value[1])
        elif hasattr(value, "isoformat"):
            sheet.write_datetime(row, column, value, self.day)
        elif isinstance(value, str):
            sheet.write_string(row, column, value)
        else:
            sheet.write(row, column, value)

    def bytes(self) -> bytes:
        """The workbook's bytes."""
        self.book.close()
        return self.file.getvalue()


def workbook(**sheets: Rows) -> bytes:
    """A workbook of sheets of rows."""
    book = Book()
    for name, rows in sheets.items():
        book.sheet(name, rows)
    return book.bytes()


def files_of(pairs: Iterable[tuple[str, Rows]]) -> dict[str, bytes]:
    """CSV files by table."""
    return {f"{name}.csv": csv_bytes(rows) for name, rows in pairs}

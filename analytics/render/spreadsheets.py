"""A table as a spreadsheet: numbers and days as themselves, no text that a spreadsheet would take for a formula."""

from collections.abc import Iterator
from io import BytesIO
from typing import Any

import polars as pl

from analytics.charts.palette import ACTION_MARKS
from analytics.contract import units, words
from analytics.contract.formulas import neutral
from analytics.pages.page import Column, Table
from analytics.render.cells import RIGHT, column_label, digits_of

DAY_FORMAT = "yyyy-mm-dd"


def csv(table: Table) -> bytes:
    """The table in UTF-8 with the mark that spreadsheets look for; shares stay shares, from 0 to 1."""
    return b"\xef\xbb\xbf" + _frame(table, "share").write_csv(date_format="%Y-%m-%d").encode()


def xlsx(table: Table) -> bytes:
    """The table as a workbook of one sheet, numbers shown with the digits the page shows them with."""
    file = BytesIO()
    frame = _frame(table, "")
    frame.write_excel(
        file,
        worksheet="table",
        column_formats=_formats(table),
        dtype_formats={pl.Date: DAY_FORMAT},
        table_style="Table Style Light 1",
        autofit=True,
        freeze_panes=(1, 0),
    )
    return file.getvalue()


def _frame(table: Table, percent_unit: str) -> pl.DataFrame:
    """A column for each value, end of interval and note beneath, named and in the units as the page shows it."""
    taken: dict[str, pl.Series] = {}
    for column in table.columns:
        for key, label in _keys(column, percent_unit):
            name, again = neutral(label), 2
            while name in taken:
                name, again = neutral(f"{label} {again}"), again + 1
            shown = units.shown_columns(table.rows, [key], column.unit) if column.kind in RIGHT else table.rows
            taken[name] = _values(shown[key], action=column.kind == "action" and key == column.key)
    return pl.DataFrame(taken)


def _keys(column: Column, percent_unit: str) -> Iterator[tuple[str, str]]:
    label = column_label(column)
    if column.kind == "percent" and percent_unit:
        label = f"{label}, {percent_unit}"
    if column.kind != "range":
        yield column.key, label
    if column.low:
        yield column.low, f"{label}, low"
        yield column.high, f"{label}, high"
    if column.under:
        yield column.under, column.under.replace("_", " ")


def _values(values: pl.Series, *, action: bool) -> pl.Series:
    if values.dtype.is_numeric() or values.dtype in {pl.Date, pl.Boolean}:
        return values
    said = (None if value is None else _said(value, action=action) for value in values)
    return pl.Series(values.name, said, dtype=pl.String)


def _said(value: object, *, action: bool) -> str:
    known = ACTION_MARKS.get(str(value)) if action else None
    return known.word if known else neutral(words.text(value))


def _formats(table: Table) -> dict[Any, str]:
    """Excel's number format for each of our numbers, by heading."""
    digits = digits_of(table)
    formats: dict[Any, str] = {}
    for column in table.columns:
        if column.key in digits:
            shown = "#,##0" + ("." + "0" * digits[column.key] if digits[column.key] else "")
            percent = shown.replace("#,##", "") + "%"
            for _, label in _keys(column, ""):
                formats[neutral(label)] = percent if column.kind == "percent" else shown
    return formats

"""The rejected rows as a work list: what to mend, written as a spreadsheet or CSV to be filled in and loaded again."""

from io import BytesIO
from pathlib import Path
from typing import Literal

import polars as pl

from analytics.answers.loading import rejects
from analytics.answers.records import Records
from analytics.contract.formulas import neutral
from analytics.errors import LeakbackError
from analytics.intake import work_list

Form = Literal["csv", "xlsx"]
TEXT, FILL_IN = "@", "#FAF3DD"


def waiting(records: Records) -> pl.DataFrame:
    """One row a faulty cell: its place, what it was where that may be kept, why, and room for what it should be."""
    return work_list(rejects(records))


def write_work_list(records: Records, path: Path, form: Form) -> int:
    """Write the work list to ``path``; the number of lines. LeakbackError where something lies there already."""
    lines = waiting(records)
    if path.exists():
        raise LeakbackError(f"{path} is there already, perhaps with what you mended; choose another name")
    written = b"\xef\xbb\xbf" + _plain(lines).write_csv().encode() if form == "csv" else _workbook(lines)
    try:
        path.write_bytes(written)
    except OSError as error:
        raise LeakbackError(f"{path}: cannot be written ({error.strerror})") from error
    return lines.height


def workbook(records: Records) -> bytes:
    """The work list as a spreadsheet to be filled in."""
    return _workbook(waiting(records))


def _plain(lines: pl.DataFrame) -> pl.DataFrame:
    """The lines with no text that a spreadsheet would run; what a line is found again by stays."""
    told = pl.col("cell", "reason", "nearest")
    return lines.with_columns(told.map_elements(neutral, return_dtype=pl.String))


def _workbook(lines: pl.DataFrame) -> bytes:
    """A sheet whose cells are all text, so that 1/8 stays 1/8 and nothing is taken for a formula."""
    file = BytesIO()
    lines.write_excel(
        file,
        worksheet="rejects",
        dtype_formats={pl.String: TEXT},
        column_formats={"mended": {"num_format": TEXT, "bg_color": FILL_IN}, "row": "0"},
        column_widths={"file": 130, "column": 140, "cell": 130, "reason": 480, "nearest": 110, "mended": 170},
        table_style="Table Style Light 1",
        freeze_panes=(1, 0),
    )
    return file.getvalue()

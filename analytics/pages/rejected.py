"""The rejected rows, as a work list."""

import polars as pl

from analytics.charts import words
from analytics.pages.page import Column, Page, Table


def build(rejects: pl.DataFrame) -> Page:
    """Every faulty cell with its place and reason."""
    rows = rejects.select("file", "row").unique().height
    answer = f"{words.counted(rows, 'row')} to be mended and loaded again." if rows else "No rejected rows."
    return Page(answer=answer, parts=(table(rejects),) if rows else ())


def table(rejects: pl.DataFrame) -> Table:
    """File, row, column and reason."""
    columns = (
        Column("file", "file"),
        Column("row", "row", kind="number", help="as a spreadsheet numbers it; the header is row 1"),
        Column("column", "column"),
        Column("reason", "reason"),
    )
    return Table(columns, rejects, title="Rejected rows", empty="Nothing was rejected.")

"""The rejected rows, as a work list."""

import polars as pl

from analytics.charts import words
from analytics.pages.page import Column, Page, Table, Words

HOW = (
    "Mend them in their files and load those again; or take the list as a spreadsheet (leakback rejects --format xlsx "
    "--output to-mend.xlsx), write what each cell should be under mended, and load that: only the mended rows are read."
)
NOTE = "A cell is shown only where it can be nobody's name, number or address."
TO_MEND = f"{NOTE} To mend them here: take the list away, add a column mended, fill it in, and load the list."


PLACE = (
    Column("table", "table"),
    Column("file", "file"),
    Column("row", "row", kind="number", help="as a spreadsheet numbers it; the header is row 1"),
    Column("column", "column"),
)
"""Where a cell stands."""


def build(rejects: pl.DataFrame) -> Page:
    """Every faulty cell with its place and reason, and how to mend it."""
    rows = rejects.select("table", "file", "row", "key").unique().height
    if not rows:
        return Page(answer="No rejected rows.")
    return Page(
        answer=f"{words.counted(rows, 'row')} to be mended and loaded again.", parts=(table(rejects), Words(HOW))
    )


def table(rejects: pl.DataFrame) -> Table:
    """Table, file, row and column; the cell where it may be kept, the reason, and what would be accepted."""
    columns = (
        *PLACE,
        *([Column("key", "key", help="the row's own number")] if "key" in rejects.columns else []),
        Column("cell", "cell"),
        Column("reason", "reason"),
        Column("nearest", "nearest", help="the nearest value that would be accepted"),
    )
    return Table(columns, rejects, title="Rejected rows", note=TO_MEND, empty="Nothing was rejected.")

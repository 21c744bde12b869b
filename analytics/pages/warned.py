"""Rows that are loaded although something about them is odd."""

import polars as pl

from analytics.contract import words
from analytics.pages.page import Column, Page, Table, Words
from analytics.pages.rejected import PLACE

HOW = "They are loaded and counted. Where one is wrong, mend it in its file and load that again; else leave it."


def build(warnings: pl.DataFrame) -> Page:
    """Every oddity with its place."""
    rows = warnings.select("table", "file", "row").unique().height
    if not rows:
        return Page(answer="Nothing is odd about the rows that are loaded.")
    answer = f"{words.counted(rows, 'loaded row')} to look at: something about {'it' if rows == 1 else 'them'} is odd."
    return Page(answer=answer, parts=(table(warnings), Words(HOW)))


def table(warnings: pl.DataFrame) -> Table:
    """Table, file, row, column, and what is odd."""
    columns = (
        *PLACE,
        Column("reason", "what is odd"),
    )
    return Table(columns, warnings, title="Loaded, but odd", empty="Nothing is odd about the rows that are loaded.")

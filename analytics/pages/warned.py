"""Rows that are loaded although something about them is odd."""

import polars as pl

from analytics.contract import words
from analytics.pages.page import Column, Page, Section, Table, Words
from analytics.pages.rejected import PLACE
from analytics.pages.shortened import first_rows

STRAY = "Calls that do not fit their job"
MOST_LISTED = 50

HOW = "They are loaded and counted. Where one is wrong, mend it in its file and load that again; else leave it."


def build(warnings: pl.DataFrame, calls: pl.DataFrame) -> Page:
    """Every oddity with its place, and the ``calls`` that do not fit their job (``stray_calls``)."""
    rows = warnings.select("table", "file", "row").unique().height
    odd = f"{words.counted(rows, 'loaded row')} to look at: something about {'it' if rows == 1 else 'them'} is odd."
    misfit = f"{words.counted(calls.height, 'call does not fit its job', 'calls do not fit their jobs')}."
    said = [odd] * bool(rows) + [misfit] * bool(calls.height)
    listed = (table(warnings), Words(HOW)) if rows else ()
    return Page(" ".join(said) or "Nothing is odd about the rows that are loaded.", (*listed, *misfits(calls)))


def misfits(calls: pl.DataFrame, link: str = "") -> tuple[Section, ...]:
    """Calls that a later row of their job, or of their crack, does not fit any more; nothing where there is none."""
    if calls.is_empty():
        return ()
    columns = (
        Column("job_id", "job", link=link),
        Column("callback_id", "call"),
        Column("reported_on", "reported"),
        Column("why", "why"),
    )
    listed = Table(columns, calls, STRAY, "Load the right row of the job, the crack or the call.")
    return (Section(STRAY, (first_rows(listed, MOST_LISTED, "call"),)),)


def table(warnings: pl.DataFrame) -> Table:
    """Table, file, row, column, and what is odd."""
    columns = (
        *PLACE,
        Column("reason", "what is odd"),
    )
    return Table(columns, warnings, title="Loaded, but odd", empty="Nothing is odd about the rows that are loaded.")

"""The rejected rows, as a work list, and taking off it what is in no file any more."""

from functools import partial

import polars as pl

from analytics.answers import mending
from analytics.answers.records import Records
from analytics.answers.setting_aside import set_aside, waiting_rows
from analytics.contract import words
from analytics.contract.roles import LOAD_PAGE
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Column, Download, Downloads, Folded, Page, Table, Words

HOW = (
    "Mend them in their files and load those again. Where a whole column is written otherwise (days in another order, "
    "feet and inches), say so once in a column map (leakback map FILE --write map.toml) and load the file with it. Or "
    "take the list as a spreadsheet (leakback rejects --format xlsx --output to-mend.xlsx), write what each cell "
    "should be under mended, and load that: only the mended rows are read. One that is in no file any more is taken "
    "off the list on the page Records."
)
NOTE = "A cell is shown only where it can be nobody's name, number or address."
GONE = (
    "For a row that was taken out of its file and is not to be loaded. What was rejected and why stays kept; should a "
    "file hold the row again, it waits again."
)
TO_MEND = (
    f"{NOTE} To mend them on the screen: take the list to mend away from the page Records, write under mended what "
    "each cell should be, and load it. A number there is of the unit beside it, whatever its file was in, unless one "
    "is written behind it, as 2.5 ft."
)


PLACE = (
    Column("table", "table"),
    Column("file", "file"),
    Column("row", "row", kind="number", help="as a spreadsheet numbers it; the header is row 1"),
    Column("column", "column"),
)
"""Where a cell stands."""


def count(rejects: pl.DataFrame) -> int:
    """How many rows wait; one may have several faulty cells."""
    return rejects.select("table", "file", "row", "key").unique().height


def build(rejects: pl.DataFrame) -> Page:
    """Every faulty cell with its place and reason, and how to mend it."""
    rows = count(rejects)
    if not rows:
        return Page(answer="No rejected row waits.")
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
        Column("nearest", "nearest", help="what the cell seems to say, where that is one thing and would be accepted"),
    )
    return Table(columns, rejects, title="Rejected rows", note=TO_MEND, empty="No rejected row waits.")


def list_to_mend(records: Records, rejects: pl.DataFrame) -> tuple[Downloads, ...]:
    """The list with room for what each cell should be, for those who may load it; nothing where none waits."""
    if rejects.is_empty():
        return ()
    made = partial(mending.workbook, records)
    return (Downloads((Download("Take the list to mend", "to-mend.xlsx", made, holds=(LOAD_PAGE,)),)),)


def off_the_list(records: Records, rejects: pl.DataFrame) -> tuple[Folded, ...]:
    """The form that takes one of these rows off the list; nothing where none waits."""
    rows = {str(row): str(row) for row in waiting_rows(rejects)}
    if not rows:
        return ()
    which = Field("row", "row", kind="choice", options=rows, default=next(iter(rows)))

    def submit(typed: Typed) -> str:
        return str(set_aside(records.store.path, typed["row"]))

    form = Form("off-the-list", "Take this row off the list", (Fieldset((which,)),), submit, GONE, needs="load")
    return (Folded("A row is in no file any more", (form,)),)

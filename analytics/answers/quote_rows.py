"""The rows of a sheet to be quoted from, typed: each cell that cannot be is named with its reason."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache, partial
from typing import Any

import dataframely as dy
import polars as pl

from analytics.answers.quote_input import require_possible
from analytics.errors import LeakbackError, counted
from analytics.intake import Sheet
from analytics.intake.numerals import settle_mark
from analytics.intake.sheet import AS_IN_THE_CONTRACT, plain
from analytics.intake.typing_cells import QUANTITIES, coded, said, typed

FIRST_ROW = 2
"""A spreadsheet's number of the row beneath the header."""
MOST_KEPT = 10_000
Row = dict[str, Any]
Faults = dict[tuple[int, str], str]
"""Why a cell cannot be, by its row (from 0) and column."""
Coder = Callable[[pl.Series], pl.Series]


def some(names: Sequence[str], one: str) -> str:
    """How many there are of these, the first of them named."""
    return counted(names, one if len(names) == 1 else f"{one}s")


def given(row: Row) -> Row:
    """What the row says, without what it leaves blank."""
    return {name: value for name, value in row.items() if value is not None}


def headers_of(sheet: Sheet) -> dict[str, str]:
    """The sheet's headers by how they are plainly written."""
    return {plain(name): name for name in sheet.headers}


def typed_rows(
    sheet: Sheet, columns: Mapping[str, dy.Column], needed: Collection[str], coders: Mapping[str, Coder]
) -> tuple[list[Row], Faults]:
    """The rows that hold anything of these columns, each with its row number under ``row``; and what cannot be.

    ``needed`` must not be blank. ``coders``: what replaces a column's cells before anything looks at them.
    """
    header = {name: theirs for name, theirs in headers_of(sheet).items() if name in columns}
    places = [number - FIRST_ROW for number in sheet.numbers]
    ours = {"": "", **{theirs: name for name, theirs in header.items()}}
    met = sheet.faults.iter_rows()
    faults: Faults = {(row - FIRST_ROW, ours[theirs]): reason for row, theirs, reason in met if theirs in ours}
    read = {}
    mark = settle_mark(
        sheet.cells[header[name]] for name in columns if name in header and isinstance(columns[name].dtype, QUANTITIES)
    )
    for name in (each for each in columns if each in header):
        theirs = header[name]
        written = sheet.written.get(theirs, AS_IN_THE_CONTRACT)
        cells = said(sheet.cells[theirs], written)
        if name in coders:
            cells = coded(cells, coders[name], sheet.days.get(theirs))
        values, unreadable = typed(
            cells, columns[name], written, mark=mark, is_day=sheet.days.get(theirs), day_zero=sheet.day_zero
        )
        faults |= {(places[place], name): reason for place, reason in unreadable.items()}
        read[name] = values.to_list()
    rows = [dict(zip(read, values, strict=True)) for values in zip(*read.values(), strict=True)]
    unread = {place for place, _ in faults}
    held = [
        row | {"row": place}
        for place, row in zip(places, rows, strict=True)
        if place in unread or any(value is not None for value in row.values())
    ]
    for row in held:
        faults |= {key: reason for key, reason in _faults(row, needed) if key not in faults}
    return held, faults


def _faults(row: Row, needed: Collection[str]) -> Iterator[tuple[tuple[int, str], str]]:
    for name, value in row.items():
        if value is None and name in needed:
            yield (row["row"], name), f"{name} must not be blank"
        # A word was held to its list as it was read, and a day to the calendar.
        elif name != "row" and isinstance(value, int | float | Decimal) and (reason := _why_not(name, value)):
            yield (row["row"], name), reason


def name_crews(rows: list[Row], crew_of: Callable[[str], str]) -> Iterator[tuple[tuple[int, str], str]]:
    """Put each crew's code into its rows; the cells that name none, each distinct crew looked up once."""
    look_up = lru_cache(maxsize=MOST_KEPT)(partial(_looked_up, crew_of))
    for row in rows:
        if row.get("crew_id") is not None:
            row["crew_id"], fault = look_up(row["crew_id"])
            if fault:
                yield (row["row"], "crew_id"), fault


def _looked_up(crew_of: Callable[[str], str], typed: str) -> tuple[str, str]:
    try:
        return crew_of(typed), ""
    except LeakbackError as error:
        return typed, str(error)


@lru_cache(maxsize=MOST_KEPT)
def _why_not(name: str, value: float | Decimal) -> str:
    """Why no crack can have ``value``, empty where one can; measured to a step, cracks share most of theirs."""
    try:
        require_possible(name, value)
    except LeakbackError as error:
        return str(error)
    return ""

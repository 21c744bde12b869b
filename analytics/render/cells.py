"""A value of a page as the words every renderer shows, in the reader's units."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from analytics.charts.palette import ACTION_MARKS, ActionMark
from analytics.contract import units, words
from analytics.contract.rules import UNSOURCED
from analytics.pages.page import Column, Figure, Table

RIGHT = frozenset({"number", "percent", "money", "range"})
"""Kinds of numbers, which stand right-aligned but where they name the row."""
WIDE_LETTERS = 22
"""Text longer than this is free to wrap; anything shorter, a job's number above all, is never broken."""
HALF_LETTERS = 17
"""A label and a value of no more letters together take half a line of a phone."""
PERCENT_DIGITS, MONEY_DIGITS = 1, 2
Row = Mapping[str, Any]
Number = float | Decimal | None


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell, what stands muted beneath it, and the action's mark where it is one."""

    main: str
    under: str = ""
    action: ActionMark | None = None


def digits_of(table: Table) -> dict[str, int]:
    """Digits after the point for each column of numbers, the same down the column so that the points align."""
    return {column.key: _digits(column, table) for column in table.columns if column.kind in RIGHT}


def right_columns(table: Table) -> frozenset[str]:
    """Columns of numbers, right-aligned so that their points stand in line; not the first, which names the row."""
    return frozenset(column.key for column in table.columns[1:] if column.kind in RIGHT)


def cell(column: Column, row: Row, digits: int = 0) -> Cell:
    """The cell of ``row`` under ``column``; the unit stands in the heading."""
    value, low, high = (_shown(row.get(key), column.unit) for key in (column.key, column.low, column.high))
    beneath = words.text(row[column.under]) if column.under and row[column.under] is not None else ""
    if column.kind == "range":
        return Cell(words.interval(low, high, digits), beneath)
    if column.kind == "action":
        return _action(value, beneath)
    ends = _interval(column.kind, low, high, digits) if column.low else words.DASH
    return Cell(_written(column.kind, value, digits, ""), beneath if ends == words.DASH else ends)


def source_said(source: str) -> str:
    """A source as it stands behind what it is of, set apart from it; empty where nothing is said of one.

    In the units it was published in, whatever the reader reads in: no standard says 0.00394 in.
    """
    said = words.as_written(source)
    return words.capital(said) if not source or source.startswith(UNSOURCED) else f"Source: {said}"


def wide_columns(table: Table) -> frozenset[str]:
    """Columns of text too long to share a line with others where there is little room."""
    texts = (column.key for column in table.columns if column.kind == "text")
    return frozenset(key for key in texts if max(map(_letters, table.listed[key]), default=0) > WIDE_LETTERS)


def half_columns(table: Table, digits: Mapping[str, int]) -> frozenset[str]:
    """Columns of which two stand side by side where a row is laid out as lines; never the first, which heads them."""
    rows = table.listed.to_dicts()
    longest = {
        column.key: max((_length(cell(column, row, digits.get(column.key, 0))) for row in rows), default=0)
        for column in table.columns[1:]
    }
    labels = {column.key: len(column_label(column)) for column in table.columns}
    return frozenset(key for key, letters in longest.items() if labels[key] + letters <= HALF_LETTERS)


def figure(given: Figure) -> str:
    """A figure with its interval: ``7.1 % (5.4 to 9.3)``."""
    digits = _figure_digits(given)
    if given.kind == "range":
        return _with_unit(words.interval(given.low, given.high, digits, given.unit), units.shown_unit(given.unit))
    if given.kind == "action":
        return _action(given.value, "").main
    value = _written(given.kind, given.value, digits, given.unit)
    ends = _interval(given.kind, given.low, given.high, digits, given.unit)
    return value if words.DASH in (value, ends) else f"{value} ({ends})"


def column_label(column: Column) -> str:
    """The column's heading with its unit."""
    label, unit = units.in_text(column.label), units.shown_unit(column.unit)
    return f"{label}, {unit}" if unit and column.kind in RIGHT else label


def _length(shown: Cell) -> int:
    return len(shown.main) + len(shown.under)


def _letters(value: object) -> int:
    return len(words.text(value))


def _written(kind: str, value: object, digits: int, unit: str) -> str:
    if isinstance(value, float | int | Decimal):
        if kind == "percent":
            return words.percent(value, digits)
        if kind == "size":
            return words.size(value, unit, digits)
        if kind in ("number", "money"):
            return words.number(value, digits, unit)
    if kind == "date" and isinstance(value, date):
        return words.day(value)
    return words.text(value)


def _shown(value: Any, unit: str) -> Any:  # noqa: ANN401 - a cell of any type
    """A number in the reader's unit; anything else as it is."""
    return units.shown(value, unit) if isinstance(value, float | int | Decimal) else value


def _interval(kind: str, low: Number, high: Number, digits: int, unit: str = "") -> str:
    return words.percent_interval(low, high, digits) if kind == "percent" else words.interval(low, high, digits, unit)


def _action(value: object, beneath: str) -> Cell:
    action = ACTION_MARKS.get(str(value))
    if action is None:
        return Cell(words.text(value), beneath)
    return Cell(f"{action.mark} {action.word}".strip(), beneath, action)


def _with_unit(written: str, unit: str) -> str:
    return f"{written}{words.THIN}{unit}" if unit and written != words.DASH else written


def _digits(column: Column, table: Table) -> int:
    if column.digits is not None:
        return units.shown_digits(column.digits, column.unit)
    fixed = {"percent": PERCENT_DIGITS, "money": MONEY_DIGITS}.get(column.kind)
    keys = [column.low, column.high] if column.kind == "range" else [column.key]
    if fixed is not None:
        return fixed
    return max(words.digits_for(_shown(value, column.unit) for value in table.listed[key]) for key in keys)


def _figure_digits(given: Figure) -> int:
    if given.digits is not None:
        return given.digits
    fixed = {"percent": PERCENT_DIGITS, "money": MONEY_DIGITS}.get(given.kind)
    ends = (given.low, given.high) if given.kind == "range" else (given.value,)
    numbers = [end for end in ends if not isinstance(end, str | date)]
    if given.unit == "°C":  # its other scale has another zero: 3.9 °C is 39 °F, so digits go by what is read
        numbers = [units.shown(end, given.unit) for end in numbers]
    return fixed if fixed is not None else words.digits_for(numbers)

"""The nearest value that would be accepted in the place of faulty cells, where there is one and only one."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from difflib import get_close_matches

import dataframely as dy
import polars as pl

from analytics.intake.days import days
from analytics.intake.numerals import SIGNS, is_ambiguous, numbers
from analytics.intake.sheet import Mark, plain
from analytics.intake.typing_cells import FALSE_WORDS, TRUE_WORDS

ORDERS = ("%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%m-%d-%Y", "%d-%m-%Y", "%Y/%m/%d", "%Y.%m.%d", "%d %b %Y", "%b %d, %Y")
MARKS: tuple[Mark, Mark] = ("point", "comma")
UNIT_BEHIND = r"\s*[A-Za-z°µ\"'″′]+\.?$"


def nearest(cells: pl.Series, column: dy.Column) -> list[str | None]:
    """For each cell the value in the contract's form, or None where nothing is near or two are.

    Cells are read a column at a time: a file may have a faulty one in each of its rows.
    """
    match column.dtype:
        case pl.Enum() as words:
            return [_word(cell, words.categories.to_list()) for cell in cells]
        case pl.Boolean():
            said = (_word(cell, [*TRUE_WORDS, *FALSE_WORDS]) for cell in cells)
            return [None if word is None else ("true" if word in TRUE_WORDS else "false") for word in said]
        case pl.Date():
            return _days(cells)
        case pl.String():
            return [None] * len(cells)
        case dtype:
            return _numbers(cells, column, dtype)


def _word(cell: str, words: Sequence[str]) -> str | None:
    return next(iter(get_close_matches(plain(cell), words, n=1, cutoff=0.6)), None)


def _days(cells: pl.Series) -> list[str | None]:
    """The day, where every order that reads the cell reads the same one."""
    text = cells.str.strip_chars()
    read = zip(*(days(text, order).to_list() for order in ORDERS), strict=True)
    found = ({day for day in each if day is not None} for each in read)
    return [each.pop().isoformat() if len(each) == 1 else None for each in found]


def _numbers(cells: pl.Series, column: dy.Column, dtype: pl.DataType) -> list[str | None]:
    """The number without its signs and unit, moved to the nearest limit and to the decimals that are kept."""
    bare = cells.str.strip_chars().str.replace_all(SIGNS, "").str.replace(UNIT_BEHIND, "")
    point, comma = (numbers(bare, mark, thousands=True) for mark in MARKS)
    read = point.zip_with(point.is_not_null(), comma).to_list()
    return [
        None if value is None or is_ambiguous(cell, "point") else _accepted(Decimal(str(value)), column, dtype)
        for cell, value in zip(bare, read, strict=True)
    ]


def _accepted(read: Decimal, column: dy.Column, dtype: pl.DataType) -> str | None:
    value = _within(read, column)
    if value is None:
        return None
    places = 0 if isinstance(dtype, pl.Int64) else getattr(dtype, "scale", None)
    if places is not None:
        value = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return format(value.normalize() if places is None else value, "f")


def _within(value: Decimal, column: dy.Column) -> Decimal | None:
    """The value, or the limit it passes; None where it passes a limit that is itself too far."""
    low, above, high = (getattr(column, name, None) for name in ("min", "min_exclusive", "max"))
    if above is not None and value <= Decimal(str(above)):
        return None
    if low is not None and value < Decimal(str(low)):
        return Decimal(str(low))
    return Decimal(str(high)) if high is not None and value > Decimal(str(high)) else value

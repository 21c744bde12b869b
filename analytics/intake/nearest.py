"""What faulty cells seem to mean, in the contract's form, where it is one thing and only one. Nothing is guessed."""

import re
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from difflib import get_close_matches

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import unit as contract_unit
from analytics.intake.days import days
from analytics.intake.numerals import SIGNS, numbers
from analytics.intake.sheet import Mark, plain
from analytics.intake.typing_cells import FALSE_WORDS, TRUE_WORDS
from analytics.intake.units import IN_A_MAP, converted

ORDERS = ("%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%m-%d-%Y", "%d-%m-%Y", "%Y/%m/%d", "%Y.%m.%d", "%d %b %Y", "%b %d, %Y")
MARKS: tuple[Mark, Mark] = ("point", "comma")
THREE_BEHIND_A_MARK = re.compile(r"(?<![0-9.,])[1-9][0-9]{0,2}[.,][0-9]{3}(?![0-9]|[.,][0-9])")
"""Thousands or a decimal: the cell alone does not say."""


def nearest(cells: pl.Series, column: dy.Column, unit: str = "") -> list[str | None]:
    """For each cell the value in the contract's form and unit, or None where nothing is near or two are.

    ``unit`` is that of the file's plain numbers, where it is not the contract's.
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
            return _numbers(cells, column, dtype, unit)


def _word(cell: str, words: Sequence[str]) -> str | None:
    return next(iter(get_close_matches(plain(cell), words, n=1, cutoff=0.6)), None)


def _days(cells: pl.Series) -> list[str | None]:
    """The day, where every order that reads the cell reads the same one."""
    text = cells.str.strip_chars()
    read = zip(*(days(text, order).to_list() for order in ORDERS), strict=True)
    found = ({day for day in each if day is not None} for each in read)
    return [each.pop().isoformat() if len(each) == 1 else None for each in found]


def _numbers(cells: pl.Series, column: dy.Column, dtype: pl.DataType, unit: str) -> list[str | None]:
    """The number in our unit, an amount's without its currency, where both decimal marks read the same one."""
    bare = cells.str.strip_chars()
    if isinstance(dtype, pl.Decimal):
        bare = bare.str.replace_all(SIGNS, "")
    read = zip(*(_read(bare, column, unit, mark).to_list() for mark in MARKS), strict=True)
    found = ({value for value in each if value is not None} for each in read)
    return [
        None if len(each) != 1 or THREE_BEHIND_A_MARK.search(cell) else _possible(each.pop(), column, dtype)
        for cell, each in zip(bare, found, strict=True)
    ]


def _read(cells: pl.Series, column: dy.Column, unit: str, mark: Mark) -> pl.Series:
    target = contract_unit(column)
    if target in IN_A_MAP:
        return converted(cells, unit or IN_A_MAP[target], target, mark, thousands=True).cast(pl.String)
    return numbers(cells, mark, thousands=True)


def _possible(read: str, column: dy.Column, dtype: pl.DataType) -> str | None:
    """A number within the column's limits, to the decimals that an amount keeps; a whole number is not rounded."""
    value = Decimal(read)
    low, above, high = (getattr(column, name, None) for name in ("min", "min_exclusive", "max"))
    is_low = (low is not None and value < Decimal(str(low))) or (above is not None and value <= Decimal(str(above)))
    if is_low or (high is not None and value > Decimal(str(high))):
        return None
    if isinstance(dtype, pl.Decimal):
        return format(value.quantize(Decimal(1).scaleb(-dtype.scale), ROUND_HALF_UP), "f")
    if isinstance(dtype, pl.Int64) and value != value.to_integral_value():
        return None
    return format(value.normalize(), "f")

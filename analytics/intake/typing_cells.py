"""Text cells to the contract's types; a cell that cannot be read is named, never guessed."""

import re
from difflib import get_close_matches

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import unit

TRUE_WORDS, FALSE_WORDS = ("true", "yes", "y", "t", "1"), ("false", "no", "n", "f", "0")
NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$"
DECIMAL_COMMA = r"^[+-]?\d+,\d+$"
FRACTION = re.compile(r"\d\s*/\s*\d")
EXACT_WHOLE = 2**53
PRIVATE_DIGITS, SHOWN_LENGTH = 9, 24


def typed(texts: pl.Series, column: dy.Column, *, decimal_comma: bool = False) -> tuple[pl.Series, dict[int, str]]:
    """A column of text as the contract's type, and why each unreadable cell could not be read.

    Args:
        texts: cells as written; blank means not recorded.
        column: the contract's declaration.
        decimal_comma: whether commas do not split this file's cells, so that ``1,5`` is one and a half.

    Returns:
        Values (null where blank or unreadable), and reasons by position.
    """
    cells = texts.str.strip_chars()
    cells = cells.set(cells == "", None)
    values = _values(cells, column, decimal_comma=decimal_comma).rename(texts.name)
    bad = (cells.is_not_null() & values.is_null()).arg_true().to_list()
    return values, {position: why_not(cells[position], column) for position in bad}


def _values(cells: pl.Series, column: dy.Column, *, decimal_comma: bool) -> pl.Series:
    """Cells in the column's type; null where a cell cannot be read."""
    match column.dtype:
        case pl.Enum() as words:
            said = cells.str.to_lowercase().str.replace_all(r"[\s-]+", "_")
            return said.set(~said.is_in(words.categories.to_list()), None).cast(words)
        case pl.Boolean():
            known = {**dict.fromkeys(TRUE_WORDS, True), **dict.fromkeys(FALSE_WORDS, False)}
            return cells.str.to_lowercase().replace_strict(known, default=None, return_dtype=pl.Boolean)
        case pl.Date():
            return cells.set(~cells.str.contains(r"^\d{4}-\d{2}-\d{2}$"), None).str.to_date("%Y-%m-%d", strict=False)
        case pl.String():
            return cells
        case _:
            return _quantities(_numbers(cells, decimal_comma=decimal_comma), column.dtype)


def _quantities(numbers: pl.Series, dtype: pl.DataType) -> pl.Series:
    """Plain numbers as amounts, whole numbers or measurements; null rather than rounded or infinite."""
    if isinstance(dtype, pl.Decimal):
        exact = numbers.set(~numbers.str.contains(rf"^[+-]?\d*\.?\d{{0,{dtype.scale}}}0*$"), None)
        return exact.cast(dtype, strict=False)
    floats = numbers.cast(pl.Float64)
    if isinstance(dtype, pl.Int64):
        return floats.set((floats != floats.round()) | (floats.abs() > EXACT_WHOLE), None).cast(pl.Int64)
    return floats.set(floats.is_infinite(), None)


def _numbers(cells: pl.Series, *, decimal_comma: bool) -> pl.Series:
    """Cells that are plain numbers, with a point; null elsewhere."""
    if decimal_comma:
        cells = cells.to_frame("n").select(
            pl.when(pl.col("n").str.contains(DECIMAL_COMMA)).then(pl.col("n").str.replace(",", ".")).otherwise("n")
        )["n"]
    return cells.set(~cells.str.contains(NUMBER), None)


def why_not(cell: str, column: dy.Column) -> str:
    """The sentence for a cell that is not of its column's kind."""
    return f"{show(cell)} {_fault(cell, column)}"


def _fault(cell: str, column: dy.Column) -> str:
    match column.dtype:
        case pl.Enum() as dtype:
            words = dtype.categories.to_list()
            near = get_close_matches(cell.lower().replace(" ", "_"), words, n=1, cutoff=0.6)
            return f"is not one of {', '.join(words)}" + (f"; did you mean {near[0]}?" if near else "")
        case pl.Boolean():
            return "is neither true nor false; write true or false"
        case pl.Date():
            return "is not a day written year-month-day, as 2026-03-31"
        case pl.Decimal() as dtype:
            return f"is not an amount with a decimal point and at most {dtype.scale} decimals"
        case pl.Int64():
            return "is not a whole number"
        case _:
            kind = "is a fraction" if FRACTION.search(cell) else "is not a number"
            return f"{kind}; write it as a decimal number in {unit(column)}, without its unit"


def show(cell: str) -> str:
    """A cell quoted in a reason, unless it is long or could be an address, a telephone number or a mail."""
    digits = sum(character.isdigit() for character in cell)
    if len(cell) > SHOWN_LENGTH or digits >= PRIVATE_DIGITS or "@" in cell:
        return "the cell"
    return f"“{cell}”"

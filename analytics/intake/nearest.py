"""The nearest value that would be accepted in the place of a faulty cell, where there is one and only one."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from difflib import get_close_matches

import dataframely as dy
import polars as pl

from analytics.intake.days import days
from analytics.intake.numerals import SIGNS, is_ambiguous, numbers
from analytics.intake.sheet import plain
from analytics.intake.typing_cells import FALSE_WORDS, TRUE_WORDS

ORDERS = ("%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%m-%d-%Y", "%d-%m-%Y", "%Y/%m/%d", "%Y.%m.%d", "%d %b %Y", "%b %d, %Y")
UNIT_BEHIND = r"\s*[A-Za-z°µ\"'″′]+\.?$"


def nearest(cell: str, column: dy.Column) -> str | None:
    """The value in the contract's form, or None where nothing is near or two are."""
    match column.dtype:
        case pl.Enum() as words:
            return next(iter(get_close_matches(plain(cell), words.categories.to_list(), n=1, cutoff=0.6)), None)
        case pl.Boolean():
            found = get_close_matches(cell.casefold(), (*TRUE_WORDS, *FALSE_WORDS), n=1, cutoff=0.6)
            return ("true" if found[0] in TRUE_WORDS else "false") if found else None
        case pl.Date():
            return _day(cell)
        case pl.String():
            return None
        case dtype:
            return _number(cell, column, dtype)


def _day(cell: str) -> str | None:
    """The day, where every order that reads the cell reads the same one."""
    text = pl.Series([cell.strip()])
    found = {read for order in ORDERS if (read := days(text, order).item()) is not None}
    only = found.pop() if len(found) == 1 else None
    return only.isoformat() if isinstance(only, date) else None


def _number(cell: str, column: dy.Column, dtype: pl.DataType) -> str | None:
    """The number without its signs and unit, moved to the nearest limit and to the decimals that are kept."""
    bare = pl.Series([cell.strip()]).str.replace_all(SIGNS, "").str.replace(UNIT_BEHIND, "")
    text = bare.item()
    if is_ambiguous(text, "point"):
        return None
    read = next((r for m in ("point", "comma") if (r := _read(bare, m)) is not None), None)
    if read is None:
        return None
    value = _within(Decimal(read), column)
    if value is None:
        return None
    places = 0 if isinstance(dtype, pl.Int64) else getattr(dtype, "scale", None)
    if places is not None:
        value = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return format(value.normalize() if places is None else value, "f")


def _read(bare: pl.Series, mark: str) -> str | None:
    read = numbers(bare, "comma" if mark == "comma" else "point", thousands=True).item()
    return None if read is None else str(read)


def _within(value: Decimal, column: dy.Column) -> Decimal | None:
    """The value, or the limit it passes; None where it passes a limit that is itself too far."""
    low, above, high = (getattr(column, name, None) for name in ("min", "min_exclusive", "max"))
    if above is not None and value <= Decimal(str(above)):
        return None
    if low is not None and value < Decimal(str(low)):
        return Decimal(str(low))
    return Decimal(str(high)) if high is not None and value > Decimal(str(high)) else value

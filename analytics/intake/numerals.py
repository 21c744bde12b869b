"""Numbers as they are written: the decimal mark of a file, thousands, currency signs. Nothing ambiguous is read."""

import re
from collections.abc import Iterable

import polars as pl

from analytics.intake.sheet import Mark

# Digits are 0 to 9 alone: a regular expression's \d is any script's, and those cannot be turned into numbers.
NUMBER = r"^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?$"
"""The exponent has at most three digits: a double's largest is 308, so one of four is no number that can be held."""
COMMA_NUMBER = r"^[+-]?([0-9]+,[0-9]*|,[0-9]+)$"
SURE_COMMA = r"^[+-]?(0*|[0-9]{4,}),[0-9]+$|^[+-]?[0-9]+,([0-9]{1,2}|[0-9]{4,})$"
SURE_POINT = r"^[+-]?(0*|[0-9]{4,})\.[0-9]+$|^[+-]?[0-9]+\.([0-9]{1,2}|[0-9]{4,})$"
"""A decimal mark beyond doubt: thousands never stand behind a nought or four digits, nor have they other than three
digits behind their mark."""
EITHER = r"^[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}$"
"""One to three digits, a mark, three digits: a decimal in one half of the world, thousands in the other."""
READ_OF_THREE = r"^[+-]?[1-9][0-9]{0,2}\.[0-9]{3}$"
"""What such a cell becomes where its mark is read as a decimal one."""
LEAST_OF_THREE = 3
_GAPS = "\u00a0\u202f '"
THOUSANDS = {
    "point": rf"^[+-]?[1-9][0-9]{{0,2}}([,{_GAPS}][0-9]{{3}})+(\.[0-9]*)?$",
    "comma": rf"^[+-]?[1-9][0-9]{{0,2}}([.{_GAPS}][0-9]{{3}})+(,[0-9]*)?$",
}
SEPARATORS = {"point": f"[,{_GAPS}]", "comma": f"[.{_GAPS}]"}
SIGNS = r"^(?:[$€£¥]|[A-Z]{3}\s)\s*|\s*(?:[$€£¥]|\s[A-Z]{3})$"


def settle_mark(columns: Iterable[pl.Series]) -> Mark:
    """The decimal mark of a sheet's columns of numbers, from the cells that leave no doubt."""
    text = pl.col("").str.strip_chars()
    sure = (text.str.contains(SURE_COMMA).any().alias("comma"), text.str.contains(SURE_POINT).any().alias("point"))
    found = [column.unique().to_frame("").select(sure).row(0) for column in columns]
    comma, point = any(row[0] for row in found), any(row[1] for row in found)
    return "both" if comma and point else "comma" if comma else "point"


def numbers(cells: pl.Series, mark: Mark, *, signs: bool = False, thousands: bool = False) -> pl.Series:
    """Cells that are plain numbers, with a decimal point; null elsewhere.

    Args:
        cells: text without spaces around it.
        mark: the file's decimal mark; where it writes both, a cell that could be either is not read.
        signs: whether currency signs and codes are read over.
        thousands: whether marks between thousands are, because a column map says which mark is which.
    """
    name, text = cells.name, pl.col("cells")
    if signs:
        cells = cells.str.replace_all(SIGNS, "")
    frame = cells.to_frame("cells")
    if thousands and mark != "both":
        bare = text.str.replace_all(SEPARATORS[mark], "")
        frame = frame.select(pl.when(text.str.contains(THOUSANDS[mark])).then(bare).otherwise(text).alias("cells"))
    comma = text.str.contains(COMMA_NUMBER) & (pl.lit(mark == "comma") | text.str.contains(SURE_COMMA))
    point = text.str.contains(NUMBER) & (pl.lit(mark == "point") | ~text.str.contains(EITHER))
    read = pl.when(comma).then(text.str.replace(",", ".", literal=True)).when(point).then(text)
    return frame.select(read.alias(name)).to_series()


def is_settled(cells: pl.Series, mark: Mark) -> bool:
    """Whether a column itself shows that three digits behind ``mark`` are decimals in it, not thousands.

    Some cell of it has four digits or a nought before the mark, or other than three behind; none has another mark
    behind those three. An export of three decimals is so, whatever the amounts.
    """
    if mark == "both":
        return False
    sure, sign = (SURE_COMMA, ",") if mark == "comma" else (SURE_POINT, r"\.")
    bare = cells.str.replace_all(SIGNS, "")
    return bool(bare.str.contains(sure).any()) and not bare.str.contains(rf"{sign}[0-9]{{3}}[.,]").any()


def is_ambiguous(cell: str, mark: Mark) -> bool:
    """Whether a cell could be a decimal number or thousands in a file that writes ``mark``."""
    against = "," if mark == "point" else "." if mark == "comma" else ",."
    return bool(re.search(EITHER, cell)) and any(sign in cell for sign in against)


def of_money(cell: str, decimals: int) -> tuple[str, str] | None:
    """What a cell of an amount could be, as thousands and with a decimal mark; None where there is no doubt.

    An amount has fewer decimals than three, so that three digits behind its one mark are hardly decimals.
    """
    bare = re.sub(SIGNS, "", cell)
    if decimals >= LEAST_OF_THREE or not re.search(EITHER, bare):
        return None
    before, behind = bare[:-4], bare[-3:]
    return before + behind, f"{before}.{behind}"

"""Numbers as they are written: the decimal mark of a file, thousands, currency signs. Nothing ambiguous is read."""

from collections.abc import Iterable

import polars as pl

from analytics.intake.sheet import Mark

NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$"
COMMA_NUMBER = r"^[+-]?(\d+,\d*|,\d+)$"
SURE_COMMA = r"^[+-]?(0*|\d{4,}),\d+$|^[+-]?\d+,(\d{1,2}|\d{4,})$"
SURE_POINT = r"^[+-]?(0*|\d{4,})\.\d+$|^[+-]?\d+\.(\d{1,2}|\d{4,})$"
EITHER = r"^[+-]?[1-9]\d{0,2}[.,]\d{3}$"
"""One to three digits, a mark, three digits: a decimal in one half of the world, thousands in the other."""
THOUSANDS = {
    "point": r"^[+-]?[1-9]\d{0,2}([, ' ]\d{3})+(\.\d*)?$",
    "comma": r"^[+-]?[1-9]\d{0,2}([. ' ]\d{3})+(,\d*)?$",
}
SEPARATORS = {"point": r"[, ' ]", "comma": r"[. ' ]"}
SIGNS = r"^(?:[$€£¥]|[A-Z]{3}\s)\s*|\s*(?:[$€£¥]|\s[A-Z]{3})$"


def settle_mark(columns: Iterable[pl.Series]) -> Mark:
    """The decimal mark of a sheet's columns of numbers, from the cells that leave no doubt."""
    texts = [column.str.strip_chars() for column in columns]
    comma = any(text.str.contains(SURE_COMMA).any() for text in texts)
    point = any(text.str.contains(SURE_POINT).any() for text in texts)
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


def is_ambiguous(cell: str, mark: Mark) -> bool:
    """Whether a cell could be a decimal number or thousands in a file that writes ``mark``."""
    against = "," if mark == "point" else "." if mark == "comma" else ",."
    return bool(pl.Series([cell]).str.contains(EITHER).any()) and any(sign in cell for sign in against)

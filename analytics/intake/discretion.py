"""What of a rejected cell may be repeated in a reason or kept with it: only what cannot be anybody's.

A cell may have slipped into the wrong column, so that a name, a telephone number, a mail or an address stands where a
length should. Words are therefore kept only where every one of them is of the trade: a unit, one of the contract's
words, a near miss of one that the column takes, a filler, a month beside a number. Digits are kept where they are too
few for a telephone number.
"""

import re
from difflib import get_close_matches
from functools import cache

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake.units import UNITS

LONGEST = 24
PHONE_DIGITS = 7
"""So many digits could be somebody's telephone number."""
DAY = re.compile(r"^\d{1,4}([-/. ])\d{1,2}\1\d{1,4}(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?$")
PLAIN_NUMBER = re.compile(rf"^[-+]?\d{{1,{PHONE_DIGITS - 1}}}[.,]\d{{1,8}}$")
LETTERS = re.compile(r"[^\W\d_]+")
SIGNS = frozenset(" .,:/'\"-+°½¼¾⅛⅜⅝⅞⅓⅔_%$€£″′”’#!?")
FILLERS = """na n a nil no none yes true false t f y unknown unsure tbd tbc ok about approx ca x by to plus per not
measured recorded blank inf infinity nan ref div value name null num error
lifetime life unlimited forever"""
MONTHS = """jan feb mar apr may jun jul aug sep sept oct nov dec
january february march april june july august september october november december"""
ALIKE = 0.8
FEW_LETTERS = 3


@cache
def _words() -> frozenset[str]:
    """The words that are nobody's name."""
    ours = {
        word
        for table in TABLES.values()
        for column in table.columns().values()
        if isinstance(column.dtype, pl.Enum)
        for word in "_".join(column.dtype.categories.to_list()).split("_")
    }
    units = {word for unit in UNITS for word in LETTERS.findall(unit)}
    return frozenset(ours | units | set(FILLERS.split()))


def keepable(cell: str, column: dy.Column) -> bool:
    """Whether a faulty cell of one of our columns may be kept and shown; never one of a site, crew, code or text."""
    if isinstance(column, dy.String) or len(cell) > LONGEST:
        return False
    if DAY.match(cell) or PLAIN_NUMBER.match(cell):
        return True
    letters = LETTERS.findall(cell.casefold())
    signs = {sign for sign in cell if not sign.isalnum()}
    digits = sum(sign.isdigit() for sign in cell)
    known = _words() | set(MONTHS.split()) if digits else _words()
    few = digits < PHONE_DIGITS and signs <= SIGNS
    return few and all(word in known or _is_near(word, column) for word in letters)


def _is_near(word: str, column: dy.Column) -> bool:
    """Whether a word is a slip of one that the column takes."""
    if not isinstance(column.dtype, pl.Enum) or len(word) <= FEW_LETTERS:
        return False
    words = "_".join(column.dtype.categories.to_list()).split("_")
    return bool(get_close_matches(word, words, n=1, cutoff=ALIKE))


def shown(cell: str, column: dy.Column) -> str:
    """A cell quoted for a reason, or only called the cell."""
    return f"“{cell}”" if keepable(cell, column) else "the cell"

"""Meteorological seasons: which one a day falls in, and which year's it is."""

from datetime import date
from typing import Literal, TypeVar

import polars as pl

from analytics.errors import UnknownNameError

Hemisphere = Literal["north", "south"]
SEASONS = ("winter", "spring", "summer", "autumn")
"""In the order of the northern year, from December."""

_TURN = {"north": 0, "south": 2}
Month = TypeVar("Month", int, pl.Expr)


def season(day: date, hemisphere: Hemisphere = "north") -> str:
    """The season of a day: DJF winter, MAM spring, JJA summer, SON autumn; turned around in the south."""
    return SEASONS[_place(day.month, hemisphere)]


def season_expr(date_col: str, hemisphere: Hemisphere = "north") -> pl.Expr:
    """The season of each day of a date column, as text; null where the day is null."""
    place = _place(pl.col(date_col).dt.month().cast(pl.Int64), hemisphere)
    return place.replace_strict(dict(enumerate(SEASONS)), return_dtype=pl.String)


def season_year(day: date) -> int:
    """The year whose season a day falls in: December opens the next year's."""
    return day.year + day.month // 12


def season_year_expr(date_col: str) -> pl.Expr:
    """The year whose season each day of a date column falls in, Int64; null where the day is null."""
    day = pl.col(date_col).dt
    return day.year().cast(pl.Int64) + day.month().cast(pl.Int64) // 12


def _place(month: Month, hemisphere: str) -> Month:
    """The season's place in SEASONS of a month 1 to 12; UnknownNameError for another hemisphere."""
    if hemisphere not in _TURN:
        raise UnknownNameError("hemisphere", hemisphere, _TURN)
    return (month % 12 // 3 + _TURN[hemisphere]) % len(SEASONS)

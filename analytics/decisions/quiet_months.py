"""Months with nothing written down where something should have been."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from analytics.contract.ages import MONTHS_PER_YEAR

AROUND_MONTHS = 6
"""Months on each side that say what is usual."""
BY_CHANCE = 1e-4
"""A run of empty months that chance brings less often than this is listed (Poisson, the usual count as its mean)."""


@dataclass(frozen=True)
class Gap:
    """A run of months without a row: its first and last month, and how many rows would have been usual in it."""

    kind: str
    first_month: date
    last_month: date
    months: int
    usual: float


def gaps(kind: str, counts: Mapping[date, int], end: date) -> list[Gap]:
    """The runs of empty months between the first month counted and the last whole one before ``end``.

    ``counts``: rows by the first day of their month.
    """
    if not counts:
        return []
    first, stop = min(counts), date(end.year, end.month, 1)
    months = list(_months(first, stop))
    rows = [counts.get(month, 0) for month in months]
    found = (_gap(kind, months, rows, start, length) for start, length in _empty_runs(rows))
    return [gap for gap in found if math.exp(-gap.usual) < BY_CHANCE]


def _gap(kind: str, months: list[date], rows: list[int], start: int, length: int) -> Gap:
    around = rows[max(start - AROUND_MONTHS, 0) : start] + rows[start + length : start + length + AROUND_MONTHS]
    usual = length * sum(around) / len(around) if around else 0.0
    return Gap(kind, months[start], months[start + length - 1], length, usual)


def _empty_runs(rows: list[int]) -> Iterator[tuple[int, int]]:
    place = 0
    for empty, run in groupby(rows, key=lambda count: count == 0):
        length = len(list(run))
        if empty:
            yield place, length
        place += length


def _months(first: date, stop: date) -> Iterator[date]:
    month = first
    while month < stop:
        yield month
        month = date(month.year + month.month // MONTHS_PER_YEAR, month.month % MONTHS_PER_YEAR + 1, 1)

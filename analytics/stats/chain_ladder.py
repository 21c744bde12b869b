"""What is still to come of each year's work, read off how earlier years ran on (chain ladder)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from analytics.errors import TooFewError
from analytics.stats.intervals import Floats

FEWEST_YEARS = 4
"""The spread of the last step is read off the two before it, so it takes four years to have three steps."""


@dataclass(frozen=True, eq=False)
class ChainLadder:
    """One entry a year of work, oldest first: what each year still expects, and its standard error.

    ``factors`` (one fewer) are the growth from each age to the next, ``spreads`` Mack's sigma squared. ``expected``
    and ``error`` are of all years together: errors of the factors are shared, so they do not add up like chance.
    """

    factors: Floats
    spreads: Floats
    ahead: Floats
    errors: Floats
    expected: float
    error: float


def chain_ladder(triangle: ArrayLike) -> ChainLadder:
    """The chain ladder with Mack's standard errors (Mack, ASTIN Bulletin 23 (1993) 213).

    ``triangle``: cumulative counts or amounts, a row a year of work from the oldest, a column an age from the
    youngest; what lies past the latest diagonal is not read. The spread of the last step is min(b² / a, a, b) of the
    two before it, as Mack has it. TooFewError with under four years or where an age begins with nothing.
    """
    known = np.asarray(triangle, dtype=np.float64)
    years = len(known)
    if years < FEWEST_YEARS:
        raise TooFewError(f"{years} years of work are too few for a chain ladder: it needs {FEWEST_YEARS}.")
    sums = np.array([known[: years - age - 1, age].sum() for age in range(years - 1)])
    if not np.all(sums > 0):
        raise TooFewError("no leak-back yet in some year of age: a chain ladder has nothing to grow from.")
    factors = np.array([known[: years - age - 1, age + 1].sum() for age in range(years - 1)]) / sums
    spreads = _spreads(known, factors)
    full = _filled(known, factors)
    latest = np.array([known[row, years - 1 - row] for row in range(years)])
    ahead = full[:, -1] - latest
    squares, total = _squared_errors(full, factors, spreads, sums)
    return ChainLadder(factors, spreads, ahead, np.sqrt(squares), float(ahead.sum()), float(np.sqrt(total)))


def _spreads(known: Floats, factors: Floats) -> Floats:
    years = len(known)
    spreads = np.zeros(years - 1)
    for age in range(years - 2):
        begins, ends = known[: years - age - 1, age], known[: years - age - 1, age + 1]
        own = np.divide(ends, begins, out=np.zeros_like(ends), where=begins > 0)
        spreads[age] = (begins * (own - factors[age]) ** 2).sum() / (years - age - 2)
    before, last = spreads[-3], spreads[-2]
    spreads[-1] = min(last**2 / before, before, last) if before > 0 else 0.0
    return spreads


def _filled(known: Floats, factors: Floats) -> Floats:
    """The triangle grown to a square."""
    full, years = known.copy(), len(known)
    for row in range(years):
        for age in range(years - row - 1, years - 1):
            full[row, age + 1] = full[row, age] * factors[age]
    return full


def _squared_errors(full: Floats, factors: Floats, spreads: Floats, sums: Floats) -> tuple[Floats, float]:
    """Mean squared error of each year's reserve, and of their sum."""
    years, relative = len(full), spreads / factors**2
    rows, total = np.zeros(years), 0.0
    for row in range(1, years):
        ages = np.arange(years - 1 - row, years - 1)
        grown = full[row, ages]
        chance = np.divide(1.0, grown, out=np.zeros_like(grown), where=grown > 0)
        rows[row] = full[row, -1] ** 2 * (relative[ages] * (chance + 1 / sums[ages])).sum()
        shared = full[row, -1] * full[row + 1 :, -1].sum() * (2 * relative[ages] / sums[ages]).sum()
        total += rows[row] + shared
    return rows, total

"""How far a distribution has moved, and how far it would move by chance."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

HALF = 0.5
"""Added to each count, so that a group nobody is in does not make the index infinite."""


class Shift(NamedTuple):
    """A population stability index, what chance alone makes of it on average, and how unlikely chance is."""

    stability: float
    by_chance: float
    p_value: float


def stability_index(before: ArrayLike, after: ArrayLike) -> float:
    """Sum of (a - b) ln(a / b) over the groups' shares, from counts or shares of one length, none of them 0."""
    b, a = _shares(before), _shares(after)
    return float(((a - b) * np.log(a / b)).sum())


def shift(before: ArrayLike, after: ArrayLike, independent_before: float, independent_after: float) -> Shift:
    """The stability index of two sets of counts against chance.

    ``before`` and ``after`` count the same groups. Where nothing moved, the index over (1/n + 1/m) follows
    chi-squared on (groups - 1) degrees of freedom (Yurdakul & Naranjo, Journal of Risk Model Validation 14 (2020)
    89); a fixed limit such as 0.1 takes no notice of n and m. ``independent_before`` and ``_after`` are n and m: how
    many draws there were that do not go together.
    """
    from scipy import special  # noqa: PLC0415, slow to import

    b, a = np.asarray(before, dtype=np.float64), np.asarray(after, dtype=np.float64)
    index = stability_index(b + HALF, a + HALF)
    per_draw = 1 / independent_before + 1 / independent_after
    freedom = max(len(b) - 1, 1)
    return Shift(index, freedom * per_draw, float(special.chdtrc(freedom, index / per_draw)))


def _shares(counts: ArrayLike) -> np.ndarray:
    found = np.asarray(counts, dtype=np.float64)
    shares: np.ndarray = found / found.sum()
    return shares

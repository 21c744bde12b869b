"""Scores of foreseen chances when some cracks are still watched: weighted by the inverse chance of being watched.

``days`` and ``leaked`` give each crack's watched time and whether it ended with a leak-back. Sources: Graf et al.,
Statistics in Medicine 18 (1999) 2529 (Brier value); Uno et al., Statistics in Medicine 30 (2011) 1105 (concordance).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from analytics.risk.poisson import Array

Flags = NDArray[np.bool_]


def still_watched(days: Array, leaked: Flags) -> Callable[[Array], Array]:
    """The chance of being watched past an age, by the product limit; leak-backs of a day go before its censoring."""
    ages, place = np.unique(days, return_inverse=True)
    ended = np.bincount(place, weights=~leaked)
    failed = np.bincount(place, weights=leaked)
    at_risk = np.cumsum((ended + failed)[::-1])[::-1] - failed
    left = np.cumprod(1 - np.divide(ended, at_risk, out=np.zeros_like(ended), where=at_risk > 0))

    def chance(at: Array) -> Array:
        steps: Array = np.concatenate([[1.0], left])[np.searchsorted(ages, at, side="right")]
        return steps

    return chance


def brier_parts(days: Array, leaked: Flags, chance: Array, at: float, watched: Callable[[Array], Array]) -> Array:
    """Each crack's share of the Brier value at an age; their mean is the value. ``chance`` is of leaking by it.

    A crack whose watching ends at that very age without a leak-back has held to it, as most do whose warranty is as
    long: what counts then is the chance of being watched up to it, not past it.
    """
    known_leak = leaked & (days <= at)
    known_held = (days >= at) & ~known_leak
    with np.errstate(divide="ignore"):
        weight = np.where(known_leak | known_held, 1 / watched(np.minimum(days, np.nextafter(at, 0.0))), 0.0)
    parts: Array = weight * np.where(known_leak, (1 - chance) ** 2, np.where(known_held, chance**2, 0.0))
    return parts


def concordance_parts(
    days: Array, leaked: Flags, risk: Array, before: float, watched: Callable[[Array], Array]
) -> tuple[float, Array]:
    """The share of pairs ranked rightly among leak-backs before an age, and each crack's pull on it.

    The pulls sum to zero; the variance of the share is the sum of squares of their sums by job.
    """
    compared, right = np.zeros(len(days)), np.zeros(len(days))
    for leak in np.flatnonzero(leaked & (days < before)):
        weight = watched(days[leak]) ** -2.0
        later = (days > days[leak]) | ((days == days[leak]) & ~leaked)
        ranked = later * ((risk[leak] > risk) + 0.5 * (risk[leak] == risk))
        compared += weight * later
        right += weight * ranked
        compared[leak] += weight * later.sum()
        right[leak] += weight * ranked.sum()
    share = float(right.sum() / compared.sum())  # each pair stands in both sums twice
    return share, (right - share * compared) / (compared.sum() / 2)

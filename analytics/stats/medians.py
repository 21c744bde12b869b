"""Whether a median moved by more than it may, judged by order statistics alone."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import special


class Middle(NamedTuple):
    """A sample's size, its median and the median's standard error, in the sample's unit."""

    size: int
    median: float
    error: float


def middle(values: ArrayLike) -> Middle:
    """The median of at least five values and its standard error.

    The error is read off the distance between two order statistics about sqrt(n) from the middle, so it holds for
    lopsided and two-humped samples too (Price & Bonett, J. Stat. Comput. Simul. 68 (2001) 295).
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    count = len(ordered)
    if count < 5:  # noqa: PLR2004 - with fewer there is no pair of order statistics about the middle
        raise ValueError(f"a median's error needs 5 values, not {count}")
    rank = max(round((count + 1) / 2 - math.sqrt(count)), 1)
    outside = 2 * special.bdtr(rank - 1, count, 0.5)
    error = (ordered[count - rank] - ordered[rank - 1]) / (-2 * special.ndtri(outside / 2))
    return Middle(count, float(np.median(ordered)), float(error))


def beyond(before: Middle, after: Middle, margin: float) -> float:
    """How unlikely chance makes medians so far apart when they truly differ by at most ``margin``; 0 to 1.

    One-sided, at the least favourable difference, ``margin`` itself.
    """
    apart = abs(after.median - before.median) - margin
    error = math.hypot(before.error, after.error)
    if error == 0:
        return 0.0 if apart > 0 else 1.0
    return float(special.ndtr(-apart / error))

"""Many comparisons at once: which findings stand."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FALSE_DISCOVERIES = 0.05
"""The share of what is named that may be false, wherever many are looked at."""


def adjusted(p_values: ArrayLike) -> NDArray[np.float64]:
    """P-values adjusted to hold the false discovery rate (Benjamini & Hochberg 1995), in the order given."""
    p = np.asarray(p_values, dtype=np.float64)
    order = np.argsort(-p)
    each = p[order] * p.size / np.arange(p.size, 0, -1)
    found = np.empty_like(p)
    found[order] = np.minimum(1.0, np.minimum.accumulate(each))
    return found


def stands(p_values: ArrayLike, rate: float = FALSE_DISCOVERIES) -> NDArray[np.bool_]:
    """Which findings stand when at most ``rate`` of those named may be false."""
    return adjusted(p_values) <= rate

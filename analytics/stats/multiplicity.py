"""Many comparisons at once: which findings stand."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def adjusted(p_values: ArrayLike) -> NDArray[np.float64]:
    """P-values adjusted to hold the false discovery rate (Benjamini & Hochberg 1995), in the order given."""
    from scipy import stats  # noqa: PLC0415, slow to import

    p = np.asarray(p_values, dtype=np.float64)
    return np.asarray(stats.false_discovery_control(p, method="bh")) if p.size else p


def stands(p_values: ArrayLike, rate: float) -> NDArray[np.bool_]:
    """Which findings stand when at most ``rate`` of those named may be false."""
    return adjusted(p_values) <= rate

"""Split-conformal intervals: how far off earlier predictions were says how far off the next may be.

Vovk, Gammerman & Shafer 2005; Lei et al., Journal of the American Statistical Association 113 (2018) 1094.
"""

from math import ceil, inf

import numpy as np
from numpy.typing import NDArray

from analytics.contract.bounds import require_level

ROUNDING = 1e-9


def conformal_rank(count: int, level: float) -> int:
    """Which of ``count`` sorted errors bounds the next one at this level: the ceil((count + 1) level)th."""
    require_level(level)
    return ceil((count + 1) * level - ROUNDING)


def conformal_quantile(errors: NDArray[np.float64], level: float) -> float:
    """The size that the next absolute error stays within at this level; infinite where the errors are too few."""
    rank = conformal_rank(len(errors), level)
    return inf if rank > len(errors) else float(np.partition(np.abs(errors), rank - 1)[rank - 1])


def smearing(log_errors: NDArray[np.float64]) -> float:
    """The factor from the exponential of a predicted log to the mean: the mean of the exponentials of the errors.

    The exponential of a mean log is nearer a median (Duan, Journal of the American Statistical Association 78 (1983)
    605).
    """
    return float(np.exp(log_errors).mean())

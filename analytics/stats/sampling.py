"""Some of very many rows that stand for all."""

import numpy as np
from numpy.typing import NDArray


def evenly(rows: int, most: int) -> NDArray[np.int64]:
    """At most ``most`` of the places 0 to ``rows`` - 1, in order, evenly apart, the first and the last among them."""
    if rows <= most:
        return np.arange(rows)
    return np.linspace(0, rows - 1, most).astype(np.int64)

"""Cracks of one job go together: they share a crew, a wall and a day."""

import numpy as np
import polars as pl
from numpy.typing import NDArray


def job_numbers(cracks: pl.DataFrame) -> NDArray[np.int64]:
    """The number of each crack's job, from 0 on, in the order of their names."""
    return cracks["job_id"].rank("dense").to_numpy().astype(np.int64) - 1

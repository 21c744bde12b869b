"""How much more than chance counts vary: between crews, and because cracks of one job go together."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WINSORISED = 0.1
"""Share of the crews at either end that is drawn in, so that the worst does not widen the limits it is judged by."""


def drawn_in(z: Floats, share: float = WINSORISED) -> Floats:
    """``z`` with the ``share`` at either end set to the quantile there (Spiegelhalter 2005, section 4)."""
    if not len(z):
        return z
    low, high = np.quantile(z, [share, 1 - share])
    return np.clip(z, low, high)


def between_variance(z: Floats, variance: Floats) -> float:
    """The variance between units beyond each one's own ``variance``, from distances ``z`` in standard errors.

    The moment estimate of DerSimonian and Laird (1986), not below 0; fewer than two units have none.
    """
    units = len(z)
    if units < 2:  # noqa: PLR2004, a variance takes two
        return 0.0
    weight = 1 / variance
    freed = weight.sum() - (weight**2).sum() / weight.sum()
    return float(max(0.0, ((z**2).sum() - (units - 1)) / freed))


def clustering(cracks: pl.DataFrame) -> float:
    """The variance of a crew's leak-backs over that of single cracks, from jobs: 1 where cracks leak independently.

    ``cracks``: crew_id, job_id, observed, expected. Each job is held against its own crew's level, so that a bad crew
    does not pass for cracks that go together. Never below 1.
    """
    jobs = cracks.group_by("crew_id", "job_id").agg(pl.col("observed", "expected").sum())
    level = pl.col("expected") * pl.col("observed").sum() / pl.col("expected").sum()
    squares, leak_backs, count, crews = jobs.select(
        ((pl.col("observed") - level.over("crew_id")) ** 2).fill_nan(0.0).sum(),
        pl.col("observed").sum().alias("leak_backs"),
        pl.len().alias("count"),
        pl.col("crew_id").n_unique().alias("crews"),
    ).row(0)
    if not leak_backs or count <= crews:
        return 1.0
    return float(max(1.0, squares / leak_backs * count / (count - crews)))

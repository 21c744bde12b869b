"""How much more than chance counts vary: between crews, and because cracks of one job go together."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WINSORISED = 0.1
"""Share of the crews at either end that is drawn in, so that the worst does not widen the limits it is judged by."""


def drawn_in(z: Floats) -> Floats:
    """``z`` with the share WINSORISED at either end set to the quantile there (Spiegelhalter 2005, section 4)."""
    if not len(z):
        return z
    low, high = np.quantile(z, [WINSORISED, 1 - WINSORISED])
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

    ``cracks``: crew_id, job_id (a number from 0 on, each job of one crew), observed, expected. Each job is held against
    its own crew's level, so that a bad crew does not pass for cracks that go together. Never below 1.
    """
    if cracks.is_empty():
        return 1.0
    crews = cracks["crew_id"].unique().sort()
    crew, job = cracks["crew_id"].cast(pl.Enum(crews)).to_physical().to_numpy(), cracks["job_id"].to_numpy()
    crew_of = np.zeros(job.max() + 1, dtype=np.int64)
    crew_of[job] = crew
    there = np.flatnonzero(np.bincount(job))
    observed, expected = (np.bincount(job, cracks[name].to_numpy())[there] for name in ("observed", "expected"))
    crew_of = crew_of[there]
    with np.errstate(invalid="ignore", divide="ignore"):
        level = (np.bincount(crew_of, observed) / np.bincount(crew_of, expected))[crew_of]
        squares = np.nansum((observed - expected * level) ** 2)
    leak_backs, count = observed.sum(), len(there)
    if not leak_backs or count <= len(crews):
        return 1.0
    return float(max(1.0, squares / leak_backs * count / (count - len(crews))))

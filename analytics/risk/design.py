"""The table the hazard model is fitted on: one row a crack, its time and its leak-back by age band."""

from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.exposure import by_band, settle_bands
from analytics.risk.features import STEPS, Feature
from analytics.risk.jobs import job_numbers
from analytics.risk.model import Penalties
from analytics.risk.poisson import UNPENALISED, Array
from analytics.risk.scaling import Scaling, encode, learn


@dataclass(frozen=True, eq=False)
class FitRows:
    """n cracks: model columns ``x`` (n by p), ``leaked`` (0 or 1) and ``years`` watched (n by bands), ``jobs`` (n).

    ``years`` are those of all the cracks that one stands for.
    """

    x: Array
    leaked: Array
    years: Array
    jobs: NDArray[np.int64]

    def only(self, kept: NDArray[np.bool_]) -> "FitRows":
        """The rows of the kept cracks, column after column in memory, as they are read."""
        at = np.flatnonzero(kept)
        return FitRows(self.x.T.take(at, axis=1).T, self.leaked[at], self.years[at], self.jobs[at])

    def weighed(self, weights: Array) -> "FitRows":
        """The rows that stand for any cracks, by how many cracks (n) each stands for."""
        weighed, kept = replace(self, years=self.years * weights[:, None]), weights > 0
        return weighed if kept.all() else weighed.only(kept)


@dataclass(frozen=True, eq=False)
class Design:
    """What was learnt from the done cracks before any effect is fitted: age bands and scaling."""

    edges_days: tuple[int, ...]
    scaling: Scaling
    notes: tuple[str, ...]

    def penalties(self, penalties: Penalties) -> Array:
        """The penalty of each parameter but the first band's: none on ages, one on features, one on crews."""
        counts = (len(self.edges_days) - 1, len(self.scaling.features), len(self.scaling.crews))
        return np.repeat([UNPENALISED, penalties.features, penalties.crews], counts)


def prepare(
    follow_up: pl.DataFrame, features: tuple[Feature, ...], *, with_crews: bool, weights: Array | None = None
) -> tuple[Design, FitRows]:
    """Learn the age bands and the scaling of these done cracks, and their rows.

    With ``weights``, how many cracks each stands for (n), only the rows of those that stand for any.
    """
    edges, notes = settle_bands(follow_up)
    scaling = learn(follow_up, features, with_crews=with_crews)
    counted = np.ones(follow_up.height) if weights is None else weights
    seen = follow_up.filter(counted > 0)
    years, leaked = by_band(seen, edges)
    jobs = job_numbers(seen)
    table = FitRows(encode(scaling, seen, STEPS).columns, leaked, years, jobs)
    shares = counted[counted > 0]
    return Design(edges, scaling.with_spread(table.x, shares), notes), table.weighed(shares)

"""The table the hazard model is fitted on: one row a crack and age band."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.exposure import person_periods, settle_bands
from analytics.risk.features import STEPS, Feature
from analytics.risk.model import Penalties
from analytics.risk.poisson import UNPENALISED, Array
from analytics.risk.scaling import Scaling, learn, rows


@dataclass(frozen=True, eq=False)
class Table:
    """Rows of crack and age band: model columns ``x``, ``leaked`` (0 or 1), ``years`` watched, ``band``, ``jobs``."""

    x: Array
    leaked: Array
    years: Array
    band: NDArray[np.int64]
    jobs: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Design:
    """What was learnt from the done cracks before any effect is fitted: age bands and scaling."""

    edges_days: tuple[int, ...]
    scaling: Scaling
    notes: tuple[str, ...]

    def table(self, follow_up: pl.DataFrame, entry: str | None = None) -> Table:
        """The rows of these cracks; ``entry`` names a column with the age in days at which watching began."""
        periods = person_periods(follow_up, self.edges_days, entry)
        row, band = (periods[name].to_numpy().astype(np.int64) for name in ("row", "band"))
        later_bands = np.eye(len(self.edges_days))[band][:, 1:]
        jobs = follow_up["job_id"].rank("dense").to_numpy().astype(np.int64)
        return Table(
            x=np.hstack([later_bands, rows(self.scaling, follow_up, STEPS).columns[row]]),
            leaked=periods["leaked"].to_numpy(),
            years=periods["years"].to_numpy(),
            band=band,
            jobs=jobs[row],
        )

    def penalties(self, penalties: Penalties) -> Array:
        """The penalty of each column of ``Table.x``: none on ages, one on features, one on crews."""
        counts = (len(self.edges_days) - 1, len(self.scaling.features), len(self.scaling.crews))
        return np.repeat([UNPENALISED, penalties.features, penalties.crews], counts)


def prepare(follow_up: pl.DataFrame, features: tuple[Feature, ...], *, with_crews: bool) -> Design:
    """Learn the age bands and the scaling of these done cracks."""
    edges, notes = settle_bands(follow_up)
    return Design(edges, learn(follow_up, features, with_crews=with_crews), notes)

"""Ridge Poisson regression with exposure, and its covariance when observations come in clusters.

With one row an individual and age band this is the piecewise-exponential hazard model (Holford 1980; Laird and
Olivier 1981).
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib import import_module

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]

Array = NDArray[np.float64]

UNPENALISED = 1e-6
"""The penalty of a column that is said to have none: far too small to move it, enough to keep it finite."""
_TOLERANCE = 1e-10
_MOST_STEPS = 200


@contextmanager
def one_thread() -> Iterator[None]:
    """Hold the linear algebra to one thread: on tables this narrow several wait for each other, five times as long."""
    with _libraries().limit(limits=1):
        yield


@cache
def _libraries() -> ThreadpoolController:
    import_module("sklearn.linear_model")  # only what is loaded can be held
    return ThreadpoolController()


@dataclass(frozen=True, eq=False)
class PoissonFit:
    """The fitted log-linear rate: ``intercept`` and a coefficient a column, rates per unit of exposure."""

    intercept: float
    coefficients: Array

    def rates(self, x: Array) -> Array:
        """The rate of each row of ``x``."""
        rates: Array = np.exp(self.intercept + x @ self.coefficients)
        return rates


def fit_poisson(
    x: Array, events: Array, exposure: Array, penalties: Array, start: PoissonFit | None = None
) -> PoissonFit:
    """Fit events ~ Poisson(exposure * exp(intercept + x b)) with the prior b_j ~ N(0, 1 / penalties_j).

    ``x`` is rows by columns, ``exposure`` positive; the intercept is never penalised. A penalty of 0 is read as
    UNPENALISED. Each column is scaled by its own penalty, for the solver knows one penalty only; that one is
    1 / total exposure, because the solver's loss is an average over exposure. A fit near by may be given to ``start``
    from; it changes nothing but the time it takes.
    """
    from sklearn.linear_model import PoissonRegressor  # noqa: PLC0415, slow to import

    spread = 1 / np.sqrt(np.maximum(penalties, UNPENALISED))
    solver = PoissonRegressor(alpha=1 / exposure.sum(), solver="newton-cholesky", tol=_TOLERANCE, max_iter=_MOST_STEPS)
    if start is not None:
        solver.set_params(warm_start=True)
        solver.coef_, solver.intercept_ = start.coefficients / spread, start.intercept
    solver.fit(x * spread, events / exposure, sample_weight=exposure)
    return PoissonFit(float(solver.intercept_), np.asarray(solver.coef_, dtype=np.float64) * spread)


def covariance(
    fit: PoissonFit, x: Array, events: Array, exposure: Array, penalties: Array, clusters: NDArray[np.int64]
) -> Array:
    """Covariance of (intercept, coefficients) when rows of one cluster go together.

    A sandwich: the ridge Hessian as bread; between, the summed outer products of the clusters' scores (with the
    usual G / (G - 1)) plus the prior's precision. Without clusters this tends to the inverse ridge Hessian, whose
    intervals hold the truth on average over the effects that the ridge shrinks (Wahba 1983; Nychka 1988); the
    plain sandwich closes in on zero as the penalty grows.
    """
    design = np.column_stack([np.ones(len(x)), x])
    mean = exposure * fit.rates(x)
    prior = np.diag(np.concatenate([[0.0], np.maximum(penalties, UNPENALISED)]))
    bread = np.linalg.inv(design.T @ (design * mean[:, None]) + prior)
    scores = design * (events - mean)[:, None]
    order = np.argsort(clusters, kind="stable")
    begins = np.flatnonzero(np.diff(clusters[order], prepend=clusters.min() - 1))
    summed = np.add.reduceat(scores[order], begins, axis=0)
    groups = len(summed)
    between = summed.T @ summed * groups / max(groups - 1, 1)
    both: Array = bread @ (between + prior) @ bread
    return (both + both.T) / 2

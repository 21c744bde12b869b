"""Ridge Poisson regression with exposure, and its covariance when observations come in clusters.

An individual may be exposed in several bands of age, each with a rate of its own: the piecewise-exponential hazard
model (Holford 1980; Laird and Olivier 1981). It stays one row, so nothing is written out a row a band.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

UNPENALISED = 1e-6
"""The penalty of a parameter that is said to have none: far too small to move it, enough to keep it finite."""
_TOLERANCE = 1e-13
"""Of the events: what the next step would still gain. Steps are Newton's, so the one after it gains its square."""
_MOST_STEPS = 200


@dataclass(frozen=True, eq=False)
class PoissonFit:
    """The fitted log-linear rate per unit of exposure.

    ``parameters``: the log rate of the first band, the log ratio of each later band to it, a coefficient a column.
    """

    parameters: Array
    bands: int = 1

    @property
    def intercept(self) -> float:
        """The log rate of the first band where every column is 0."""
        return float(self.parameters[0])

    @property
    def coefficients(self) -> Array:
        """All parameters but the intercept."""
        return self.parameters[1:]

    def rates(self, x: Array) -> Array:
        """The rate of each row of ``x`` in the first band."""
        rates: Array = np.exp(self.intercept + x @ self.parameters[self.bands :])
        return rates

    def expected(self, x: Array, exposure: Array) -> Array:
        """Events expected of each row in each band (n by k)."""
        ratios = np.concatenate([[0.0], self.parameters[1 : self.bands]])
        expected: Array = _by_band(exposure) * np.exp(ratios) * self.rates(x)[:, None]
        return expected


def fit_poisson(
    x: Array, events: Array, exposure: Array, penalties: Array, start: PoissonFit | None = None
) -> PoissonFit:
    """Fit events ~ Poisson(exposure * exp(band + x b)) with the prior N(0, 1 / penalty) on all but the first band.

    ``x`` is n by p; ``events`` and ``exposure`` n by k bands, or n where there is one. ``penalties`` are those of the
    k - 1 log ratios of the later bands, then of the p columns; 0 is read as UNPENALISED. A fit near by may be given to
    ``start`` from; it changes nothing but the time it takes. Newton's method on the penalised likelihood, which has one
    top.
    """
    seen = _by_band(events)
    prior = _prior(penalties)
    counts = np.concatenate([_heads(seen).sum(axis=0), x.T @ seen.sum(axis=1)])
    fitted = start or _level(counts[0] / exposure.sum(), seen.shape[1], x.shape[1])
    expected = fitted.expected(x, exposure)
    loss = _loss(fitted, expected, counts, prior)
    for _ in range(_MOST_STEPS):
        slope, curvature = _slope(x, expected) - counts + prior * fitted.parameters, _curvature(x, expected)
        step = np.linalg.solve(curvature + np.diag(prior), slope)
        while True:
            tried = PoissonFit(fitted.parameters - step, fitted.bands)
            with np.errstate(over="ignore", invalid="ignore"):
                expected = tried.expected(x, exposure)
                gained = loss - _loss(tried, expected, counts, prior)
            small = slope @ step <= _TOLERANCE * counts[0]
            if gained > 0 or small:
                break
            step /= 2
        fitted, loss = tried, loss - gained
        if small:
            break
    return fitted


def covariance(
    fit: PoissonFit, x: Array, events: Array, exposure: Array, penalties: Array, clusters: NDArray[np.int64]
) -> Array:
    """Covariance of the parameters when rows of one cluster go together.

    A sandwich: the ridge Hessian as bread; between, the summed outer products of the clusters' scores (with the
    usual G / (G - 1)) plus the prior's precision. Without clusters this tends to the inverse ridge Hessian, whose
    intervals hold the truth on average over the effects that the ridge shrinks (Wahba 1983; Nychka 1988); the
    plain sandwich closes in on zero as the penalty grows.
    """
    expected, prior = fit.expected(x, exposure), np.diag(_prior(penalties))
    bread = np.linalg.inv(_curvature(x, expected) + prior)
    heads = _heads(_by_band(events) - expected)
    names, place = np.unique(clusters, return_inverse=True)
    scores = (*heads.T, *(column * heads[:, 0] for column in x.T))
    summed = np.column_stack([np.bincount(place, weights=score) for score in scores])
    between = summed.T @ summed * len(names) / max(len(names) - 1, 1)
    both: Array = bread @ (between + prior) @ bread
    return (both + both.T) / 2


def _level(rate: float, bands: int, columns: int) -> PoissonFit:
    """One rate for all."""
    return PoissonFit(np.concatenate([[np.log(rate)], np.zeros(bands - 1 + columns)]), bands)


def _prior(penalties: Array) -> Array:
    return np.concatenate([[0.0], np.maximum(penalties, UNPENALISED)])


def _by_band(values: Array) -> Array:
    return values.reshape(len(values), -1)


def _heads(by_band: Array) -> Array:
    """What the first band's rate counts, all of a row, and what each later band's ratio does, its own part."""
    heads: Array = np.column_stack([by_band.sum(axis=1), by_band[:, 1:]])
    return heads


def _loss(fit: PoissonFit, expected: Array, counts: Array, prior: Array) -> float:
    """The negative log likelihood, up to a constant, with the prior's."""
    return float(expected.sum() - counts @ fit.parameters + prior @ fit.parameters**2 / 2)


def _slope(x: Array, expected: Array) -> Array:
    return np.concatenate([_heads(expected).sum(axis=0), x.T @ expected.sum(axis=1)])


def _curvature(x: Array, expected: Array) -> Array:
    """The second derivative of the expected events by the parameters."""
    heads = _heads(expected)
    ages = np.diag(heads.sum(axis=0))
    ages[0] = ages[:, 0] = heads.sum(axis=0)
    beside = heads.T @ x
    return np.block([[ages, beside], [beside.T, x.T @ (x * heads[:, :1])]])

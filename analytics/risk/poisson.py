"""Ridge Poisson regression with exposure, and its covariance when observations come in clusters.

An individual may be exposed in several bands of age, each with a rate of its own: the piecewise-exponential hazard
model (Holford 1980; Laird and Olivier 1981). It stays one row, so nothing is written out a row a band.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analytics.stats.slices import slices

Array = NDArray[np.float64]

UNPENALISED = 1e-6
"""The penalty of a parameter that is said to have none: far too small to move it, enough to keep it finite."""
_TOLERANCE, _TRUSTED = 1e-17, 1e-13
"""Of the events: what a last step would still gain, and a gain so small that the likelihood's own rounding hides it."""
_MOST_STEPS = 200
_FAIR = 0.1
"""Of what the slope promises, a step has to gain this share (Armijo, Pacific Journal of Mathematics 16 (1966) 1; from
memory); half of it is what a right one gains."""
_KEPT_WHILE = 0.01
"""The curvature is worked out anew unless, with the last one, a step gains less than this share of the step before."""
_EACH, _FEWEST_IN_PART = 8, 20_000
"""A fit begins at that to each so-manieth of its rows, where these are so many: steps are cheap there."""
CLUSTERS = 30_000
"""Clusters whose scores are held at once."""
_BLOCK = 2048
"""Rows that are multiplied while they are in the processor's own memory."""


@dataclass(frozen=True, eq=False)
class PoissonFit:
    """The fitted log-linear rate per unit of exposure.

    ``parameters``: the log rate of the first band, the log ratio of each later band to it, a coefficient a column.
    ``curvature``: that of the likelihood near them, for fits that start from this one.
    """

    parameters: Array
    bands: int = 1
    curvature: Array | None = None

    @property
    def intercept(self) -> float:
        """The log rate of the first band where every column is 0."""
        return float(self.parameters[0])

    @property
    def coefficients(self) -> Array:
        """All parameters but the intercept."""
        return self.parameters[1:]

    @property
    def ratios(self) -> Array:
        """The rate in each band over that in the first."""
        ratios: Array = np.exp(np.concatenate([[0.0], self.parameters[1 : self.bands]]))
        return ratios

    def rates(self, x: Array) -> Array:
        """The rate of each row of ``x`` in the first band."""
        rates: Array = np.exp(self.intercept + x @ self.parameters[self.bands :])
        return rates

    def expected(self, x: Array, exposure: Array) -> Array:
        """Events expected of each row in each band (n by k)."""
        expected: Array = _by_band(exposure) * self.ratios * self.rates(x)[:, None]
        return expected


@dataclass(frozen=True, eq=False)
class _Seen:
    """What a fit expects of n rows: their ``rates`` in the first band, and their events in all bands (``total``)."""

    fit: PoissonFit
    x: Array
    exposure: Array
    rates: Array
    total: Array

    @classmethod
    def by(cls, fit: PoissonFit, x: Array, exposure: Array) -> "_Seen":
        """A fit too far off expects more than a number can hold: its loss is then infinite, or none at all."""
        with np.errstate(over="ignore", invalid="ignore"):
            rates = fit.rates(x)
            return cls(fit, x, exposure, rates, rates * (exposure @ fit.ratios))

    def loss(self, counts: Array, prior: Array) -> float:
        """The negative log likelihood, up to a constant, with the prior's."""
        parameters = self.fit.parameters
        with np.errstate(over="ignore", invalid="ignore"):
            return float(self.total.sum() - counts @ parameters + prior @ parameters**2 / 2)

    def heads(self) -> Array:
        """What the first band's rate counts, all there is, and what each later band's ratio does, its own part."""
        return np.concatenate([[self.total.sum()], self.fit.ratios[1:] * (self.rates @ self.exposure[:, 1:])])

    def slope(self) -> Array:
        """The first derivative of the expected events by the parameters."""
        return np.concatenate([self.heads(), self.total @ self.x])

    def curvature(self) -> Array:
        """The second derivative of the expected events by the parameters."""
        heads = self.heads()
        ages = np.diag(heads)
        ages[0] = ages[:, 0] = heads
        later = [self.fit.ratios[band] * self.rates * self.exposure[:, band] for band in range(1, len(heads))]
        beside = np.vstack([self.total, *later]) @ self.x
        return np.block([[ages, beside], [beside.T, gram(self.x, self.total)]])


def gram(x: Array, weights: Array | None = None) -> Array:
    """The products of the columns of ``x`` (n by p) summed over its rows, these ``weights`` (n) given (p by p).

    Weighed by their roots, rows are multiplied by themselves: half of a product is then enough.
    """
    products = np.zeros((x.shape[1], x.shape[1]))
    for part in slices(len(x), _BLOCK):
        rows = x[part] if weights is None else x[part] * np.sqrt(weights[part, None])
        products += rows.T @ rows
    return products


def fit_poisson(
    x: Array, events: Array, exposure: Array, penalties: Array, start: PoissonFit | None = None
) -> PoissonFit:
    """Fit events ~ Poisson(exposure * exp(band + x b)) with the prior N(0, 1 / penalty) on all but the first band.

    ``x`` is n by p; ``events`` and ``exposure`` n by k bands, or n where there is one. ``penalties`` are those of the
    k - 1 log ratios of the later bands, then of the p columns; 0 is read as UNPENALISED. A fit near by may be given to
    ``start`` from; it changes nothing but the time it takes. Newton's method on the penalised likelihood, which has one
    top.
    """
    happened, watched = _by_band(events), _by_band(exposure)
    prior = _prior(penalties)
    counts = np.concatenate([_heads(happened).sum(axis=0), happened.sum(axis=1) @ x])
    seen, loss = _beginning(start or _of_a_part(x, happened, watched, penalties), x, watched, counts, prior)
    gain, curvature = np.inf, seen.fit.curvature
    for _ in range(_MOST_STEPS):
        slope = seen.slope() - counts + prior * seen.fit.parameters
        step = None if curvature is None else np.linalg.solve(curvature + np.diag(prior), slope)
        is_kept = step is not None and 0 <= slope @ step <= _KEPT_WHILE * gain
        if step is None or not is_kept:
            curvature = seen.curvature()
            step = np.linalg.solve(curvature + np.diag(prior), slope)
        whole = promised = float(slope @ step)
        while promised > 0:
            tried = _Seen.by(PoissonFit(seen.fit.parameters - step, seen.fit.bands), x, watched)
            gained = loss - tried.loss(counts, prior)
            if gained > _FAIR * promised or promised <= _TRUSTED * counts[0]:
                seen, loss, gain = tried, loss - gained, whole
                break
            if is_kept:
                curvature = None
                break
            step, promised = step / 2, promised / 2
        if not whole > _TOLERANCE * counts[0]:
            break
    return replace(seen.fit, curvature=curvature)


def covariance(
    fit: PoissonFit, x: Array, events: Array, exposure: Array, penalties: Array, clusters: NDArray[np.int64]
) -> Array:
    """Covariance of the parameters when rows of one cluster go together.

    A sandwich: the ridge Hessian as bread; between, the summed outer products of the clusters' scores (with the
    usual G / (G - 1)) plus the prior's precision. Without clusters this tends to the inverse ridge Hessian, whose
    intervals hold the truth on average over the effects that the ridge shrinks (Wahba 1983; Nychka 1988); the
    plain sandwich closes in on zero as the penalty grows.
    """
    watched, prior = _by_band(exposure), np.diag(_prior(penalties))
    seen = _Seen.by(fit, x, watched)
    bread = np.linalg.inv(seen.curvature() + prior)
    heads = _heads(_by_band(events) - fit.ratios * watched * seen.rates[:, None])
    names, place = np.unique(clusters, return_inverse=True)
    between = np.zeros_like(bread)
    order, firsts = np.argsort(place, kind="stable"), np.arange(0, len(names), CLUSTERS)
    for rows in np.split(order, np.searchsorted(place[order], firsts[1:])):
        summed = _by_cluster(place[rows] - place[rows[0]], heads[rows], x.T.take(rows, axis=1))
        between += summed.T @ summed
    between = between * len(names) / max(len(names) - 1, 1)
    both: Array = bread @ (between + prior) @ bread
    return (both + both.T) / 2


def _by_cluster(place: NDArray[np.int64], heads: Array, columns: Array) -> Array:
    """The scores of rows, from their ``heads`` and model ``columns`` (p by n), summed over each cluster."""
    summed = np.empty((place.max() + 1, heads.shape[1] + len(columns)), order="F")
    for at, score in enumerate((*heads.T, *(heads[:, 0] * column for column in columns))):
        summed[:, at] = np.bincount(place, weights=score)
    return summed


def _beginning(near: PoissonFit | None, x: Array, exposure: Array, counts: Array, prior: Array) -> tuple[_Seen, float]:
    """Where to begin, and its loss: at a fit near by, unless one rate for all is nearer.

    A fit to other rows can foretell events beyond all measure of one that lies far from them.
    """
    level = PoissonFit(np.zeros(len(counts)), exposure.shape[1])
    level.parameters[0] = np.log(counts[0] / exposure.sum())
    if near is not None:
        seen = _Seen.by(near, x, exposure)
        loss = seen.loss(counts, prior)
        if loss <= counts[0] * (1 - level.intercept):
            return seen, loss
    seen = _Seen.by(level, x, exposure)
    return seen, seen.loss(counts, prior)


def _of_a_part(x: Array, events: Array, exposure: Array, penalties: Array) -> PoissonFit | None:
    """The fit to each so-manieth of very many rows, if these have events in every band."""
    some = np.arange(0, len(x), _EACH)
    if len(some) < _FEWEST_IN_PART or not events[some].any(axis=0).all():
        return None
    part = fit_poisson(x.T.take(some, axis=1).T, events[some], exposure[some], penalties)
    return replace(part, curvature=part.curvature * _EACH if part.curvature is not None else None)


def _prior(penalties: Array) -> Array:
    return np.concatenate([[0.0], np.maximum(penalties, UNPENALISED)])


def _by_band(values: Array) -> Array:
    return values.reshape(len(values), -1)


def _heads(by_band: Array) -> Array:
    """What the first band's rate counts, all of a row, and what each later band's ratio does, its own part."""
    heads: Array = np.column_stack([by_band.sum(axis=1), by_band[:, 1:]])
    return heads

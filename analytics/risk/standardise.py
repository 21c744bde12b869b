"""The same cracks under another choice: mean risks by g-computation from the hazard model (Robins 1986).

Every crack keeps all that was recorded of it but the one column compared, so what differs between the means is what
the model lays to that column. Effects are those of a fit that hardly shrinks them: a penalty that foretells best pulls
each towards none, which would be unfair to the one asked about.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import polars as pl

from analytics.contract.ages import horizon_days
from analytics.risk.exposure import band_years
from analytics.risk.features import STEPS
from analytics.risk.hazard import fit
from analytics.risk.model import HazardModel, Penalties
from analytics.risk.poisson import Array
from analytics.risk.predict import encoded, gathered
from analytics.risk.scaling import scaled
from analytics.risk.verdict import Estimate
from analytics.stats.intervals import normal_reach
from analytics.stats.sampling import Sample

LIGHT = Penalties(features=1.0, crews=4.0)
"""A prior standard deviation of 1 on the log hazard for half of a yes/no: it only keeps what is rare within reason."""


@dataclass(frozen=True, eq=False)
class Summed:
    """Cracks summed up under each of k choices: kinds of crack are put together by adding them.

    ``risks`` (k) and their ``slopes`` by the model's parameters (k by parameters), had all taken a choice; how many did
    is ``taken`` (k); ``facts`` (k + 1 by features): their scaled features, and in the last row those of all ``cracks``.
    """

    cracks: float
    risks: Array
    slopes: Array
    taken: Array
    facts: Array

    def __add__(self, other: "Summed") -> "Summed":
        """Both together."""
        return Summed(
            self.cracks + other.cracks,
            self.risks + other.risks,
            self.slopes + other.slopes,
            self.taken + other.taken,
            self.facts + other.facts,
        )


@dataclass(frozen=True, eq=False)
class Means:
    """Mean risks of the same cracks under each of k choices: ``risks`` (k), and their covariance (k by k)."""

    risks: Array
    covariance: Array

    def estimate(self, place: int, level: float) -> Estimate:
        """The mean risk under one choice, its interval even on the log scale."""
        return self._ratio(np.eye(len(self.risks))[place], np.zeros(len(self.risks)), level)

    def difference(self, place: int, level: float) -> Estimate:
        """The mean risk under one choice less that under the others, these counted alike."""
        weights = np.eye(len(self.risks))[place] - self._others(place)
        value = float(weights @ self.risks)
        reach = normal_reach(level) * float(np.sqrt(weights @ self.covariance @ weights))
        return Estimate(value, value - reach, value + reach)

    def ratio(self, place: int, level: float) -> Estimate:
        """The mean risk under one choice over that under the others, these counted alike."""
        return self._ratio(np.eye(len(self.risks))[place], self._others(place), level)

    def p_value(self, place: int) -> float:
        """How often chance alone would set one choice's log ratio to the others so far from 0."""
        slope = self._slope(np.eye(len(self.risks))[place], self._others(place))
        log = float(np.log(self.risks[place] / (self._others(place) @ self.risks)))
        return 2 * NormalDist().cdf(-abs(log) / float(np.sqrt(slope @ self.covariance @ slope)))

    def _others(self, place: int) -> Array:
        rest: Array = np.delete(np.full(len(self.risks), 1 / (len(self.risks) - 1)), 0)
        return np.insert(rest, place, 0.0)

    def _slope(self, top: Array, bottom: Array) -> Array:
        """The slope of the log of one weighted mean over another, which may weigh nothing."""
        under = bottom / (bottom @ self.risks) if bottom.any() else bottom
        slope: Array = top / (top @ self.risks) - under
        return slope

    def _ratio(self, top: Array, bottom: Array, level: float) -> Estimate:
        slope = self._slope(top, bottom)
        value = float(top @ self.risks / (bottom @ self.risks if bottom.any() else 1.0))
        reach = float(np.exp(normal_reach(level) * np.sqrt(slope @ self.covariance @ slope)))
        return Estimate(value, value / reach, value * reach)


def fit_lightly(follow_up: pl.DataFrame, as_of: date) -> HazardModel:
    """The hazard fitted to compare by, not to foretell; TooFewError where there are too few leak-backs."""
    return fit(follow_up.filter(pl.col("watched_days") > 0), as_of, LIGHT)


def means(model: HazardModel, summed: Summed) -> Means:
    """The mean risks of the cracks that were summed up.

    The covariance is the model's, by job, to first order; the cracks themselves are taken as they are.
    """
    slopes = summed.slopes / summed.cracks
    return Means(summed.risks / summed.cracks, slopes @ np.array(model.covariance) @ slopes.T)


def under_each(
    model: HazardModel, cracks: pl.DataFrame, column: str, values: Sequence[str], months: int, sample: Sample
) -> list[Summed]:
    """A ``sample`` of done cracks summed up, kind by kind, had ``column`` been each of ``values`` on all of them."""
    found: dict[int, Summed] = {}
    for part in sample.in_slices():
        for kind, summed in _summed(model, cracks[part.places], column, values, months, part):
            found[kind] = found[kind] + summed if kind in found else summed
    return list(found.values())


def case_mix(model: HazardModel, summed: Summed, column: str, place: int) -> dict[str, float]:
    """How the cracks that took the choice at ``place`` of ``column`` differ from the others in all but that column.

    For each subject the mean log hazard of those cracks less the others', by what the model makes of the subject; the
    sum over subjects is how much likelier they are to leak back whatever the choice, the crews' part left out.
    """
    own, count = summed.facts[place], summed.taken[place]
    apart = own / count - (summed.facts[-1] - own) / (summed.cracks - count)
    found: dict[str, float] = {}
    for part, feature in zip(apart * model.feature_effects, model.scaling.declared, strict=True):
        if column not in feature.columns:
            found[feature.subject.name] = found.get(feature.subject.name, 0.0) + float(part)
    return found


def _summed(
    model: HazardModel, cracks: pl.DataFrame, column: str, values: Sequence[str], months: int, sample: Sample
) -> Iterator[tuple[int, Summed]]:
    """A slice of cracks summed up by kind. All are foreseen to the same age, so the ages' part is worked out once."""
    x, bands = encoded(model, cracks, STEPS).columns, len(model.edges_days)
    years = band_years(model.edges_days, np.zeros(1), np.full(1, float(horizon_days(months))))
    log, heads = gathered(model, np.zeros((1, x.shape[1])), years)
    took = np.array([(cracks[column] == value).fill_null(value=False).to_numpy() for value in values], dtype=np.float64)
    took = np.vstack([took, np.ones(cracks.height)]) * sample.weights
    features = len(model.scaling.features)
    parts = [slice(*ends) for ends in pairwise([0, *np.flatnonzero(np.diff(sample.kinds)) + 1, len(sample.kinds)])]
    facts = [took[:, part] @ x[part, :features] for part in parts]
    risks, slopes = np.empty((len(values), len(parts))), np.empty((len(values), len(parts), len(model.parameters)))
    for place, value in enumerate(values):
        x = _changed(model, cracks.with_columns(pl.lit(value).alias(column)), column, x)
        ahead = np.exp(log + x @ model.effects)
        chances, weights = -np.expm1(-ahead) * sample.weights, np.exp(-ahead) * ahead * sample.weights
        for kind, part in enumerate(parts):
            risks[place, kind] = chances[part].sum()
            slopes[place, kind, :bands] = weights[part].sum() * heads[0, :bands]
            slopes[place, kind, bands:] = weights[part] @ x[part]
    for kind, part in enumerate(parts):
        *taken, every = took[:, part].sum(axis=1)
        yield sample.kinds[part.start], Summed(every, risks[:, kind], slopes[:, kind], np.array(taken), facts[kind])


def _changed(model: HazardModel, cracks: pl.DataFrame, column: str, x: Array) -> Array:
    """The columns of cracks of which only ``column`` is not what it was when ``x`` was read, which is written over."""
    if model.trees:  # they look at all columns at once
        return encoded(model, cracks, STEPS).columns
    changed = [place for place, feature in enumerate(model.scaling.declared) if column in feature.columns]
    x[:, changed] = scaled(model.scaling, changed, cracks)
    return x

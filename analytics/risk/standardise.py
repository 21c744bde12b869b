"""The same cracks under another choice: mean risks by g-computation from the hazard model (Robins 1986).

Every crack keeps all that was recorded of it but the one column compared, so what differs between the means is what
the model lays to that column. Effects are those of a fit that hardly shrinks them: a penalty that foretells best pulls
each towards none, which would be unfair to the one asked about.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

import numpy as np
import polars as pl

from analytics.contract.ages import horizon_days
from analytics.risk.features import STEPS
from analytics.risk.hazard import fit
from analytics.risk.model import HazardModel, Penalties
from analytics.risk.poisson import Array
from analytics.risk.predict import band_years, columns, gathered
from analytics.risk.verdict import Estimate

LIGHT = Penalties(features=1.0, crews=4.0)
"""A prior standard deviation of 1 on the log hazard for half of a yes/no: it only keeps what is rare within reason."""


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
        reach = _z(level) * float(np.sqrt(weights @ self.covariance @ weights))
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
        reach = float(np.exp(_z(level) * np.sqrt(slope @ self.covariance @ slope)))
        return Estimate(value, value / reach, value * reach)


def fit_lightly(follow_up: pl.DataFrame, as_of: date) -> HazardModel:
    """The hazard fitted to compare by, not to foretell; TooFewError where there are too few leak-backs."""
    return fit(follow_up.filter(pl.col("watched_days") > 0), as_of, LIGHT)


def mean_risks(model: HazardModel, cracks: pl.DataFrame, column: str, values: Sequence[str], months: int) -> Means:
    """The mean chance that done cracks leak back within ``months``, had ``column`` been each of ``values`` on all.

    The covariance is the model's, by job, to first order; the cracks themselves are taken as they are.
    """
    years = band_years(model, np.zeros(cracks.height), np.full(cracks.height, float(horizon_days(months))))
    risks, gradients = [], []
    for value in values:
        numbers = columns(model, cracks.with_columns(pl.lit(value).alias(column)), STEPS).columns
        log, slopes = gathered(model, numbers, years)
        ahead = np.exp(log)
        risks.append(float(-np.expm1(-ahead).mean()))
        gradients.append((np.exp(-ahead) * ahead) @ slopes / len(ahead))
    gradient = np.array(gradients)
    return Means(np.array(risks), gradient @ np.array(model.covariance) @ gradient.T)


def case_mix(model: HazardModel, cracks: pl.DataFrame, column: str, value: str) -> dict[str, float]:
    """How the cracks where ``column`` is ``value`` differ from the others in all but that column.

    For each subject the mean log hazard of those cracks less the others', by what the model makes of the subject; the
    sum over subjects is how much likelier they are to leak back whatever the choice, the crews' part left out.
    """
    apart = columns(model, cracks, STEPS).columns
    theirs = (cracks[column] == value).fill_null(value=False).to_numpy()
    features = len(model.scaling.features)
    parts = (apart[theirs].mean(axis=0) - apart[~theirs].mean(axis=0))[:features] * model.feature_effects
    found: dict[str, float] = {}
    for part, feature in zip(parts, model.scaling.declared, strict=True):
        if column not in feature.columns:
            found[feature.subject.name] = found.get(feature.subject.name, 0.0) + float(part)
    return found


def _z(level: float) -> float:
    return NormalDist().inv_cdf((1 + level) / 2)

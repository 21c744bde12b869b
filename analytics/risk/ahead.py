"""What repairs that have held so far may still do: leak-backs foreseen in spans of age, and how sure that is."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.features import STEPS
from analytics.risk.model import HazardModel
from analytics.risk.poisson import Array
from analytics.risk.predict import band_years, columns


@dataclass(frozen=True, eq=False)
class Foreseen:
    """Leak-backs foreseen in each of several groups of cracks or spans of time.

    ``expected`` sums the cracks' chances, ``squares`` their squares. ``covariance`` is that of the logs of
    ``expected``, from the fit's (by job), to first order: drawing whole parameters instead puts their mean 3 to 4 %
    too high, as the exponential bends upward, which a refit on resampled jobs does not.
    """

    expected: Array
    squares: Array
    covariance: Array

    def draws(self, rng: np.random.Generator, count: int) -> NDArray[np.int64]:
        """``count`` draws of the numbers that leak back (draws by groups): what is open about the hazard, and chance.

        Chance is binomial, of the mean and variance that the cracks' own chances add up to.
        """
        off = rng.multivariate_normal(np.zeros(len(self.expected)), self.covariance, size=count, method="eigh")
        drawn = self.expected * np.exp(off)
        trials = np.ceil(np.divide(self.expected**2, self.squares, out=np.ones_like(drawn[0]), where=self.squares > 0))
        found: NDArray[np.int64] = rng.binomial(trials.astype(np.int64), np.minimum(drawn / trials, 1.0))
        return found


class Ahead:
    """Done cracks that have held to an age, and later ages at which their leak-backs are counted.

    ``from_days`` has an age a crack; ``to_days`` (cracks by ages) never falls along a row and never lies before
    ``from_days``. What was done on the day is known of a done crack and is read.
    """

    def __init__(self, model: HazardModel, cracks: pl.DataFrame, from_days: Array, to_days: Array) -> None:
        begins, ends = np.repeat(from_days, to_days.shape[1]), to_days.reshape(-1)
        years = band_years(model, begins, ends).reshape(*to_days.shape, len(model.edges_days))
        self._covariance = np.array(model.covariance)
        self._columns = columns(model, cracks, STEPS).columns
        relative = np.exp(self._columns @ model.effects)
        self._by_band = years * np.exp(model.log_hazards) * relative[:, None, None]
        self._gathered = self._by_band.sum(axis=2)

    @property
    def chances(self) -> Array:
        """The chance that each crack leaks back by each age (cracks by ages), given that it has held so far."""
        chances: Array = -np.expm1(-self._gathered)
        return chances

    def between_ages(self) -> Foreseen:
        """What is foreseen up to the first age, then from each age to the next, of all cracks together."""
        chances = np.diff(self.chances, axis=1, prepend=0.0)
        ages = range(self._gathered.shape[1])
        slopes = np.array([self._slopes(age).sum(axis=0) for age in ages]).reshape(len(ages), -1)
        return self._foreseen(chances.sum(axis=0), (chances**2).sum(axis=0), np.diff(slopes, axis=0, prepend=0.0))

    def by_group(self, place: NDArray[np.int64], groups: int) -> Foreseen:
        """What is foreseen up to the last age, of each of ``groups`` groups; ``place`` has a crack's group."""
        chances, slopes = self.chances[:, -1], self._slopes(-1)
        member = np.eye(groups)[place].T
        return self._foreseen(member @ chances, member @ chances**2, member @ slopes)

    def altogether(self) -> Foreseen:
        """What is foreseen up to the last age, of all cracks together."""
        return self.by_group(np.zeros(len(self._columns), dtype=np.int64), 1)

    def _slopes(self, age: int) -> Array:
        """The change of each crack's chance with each parameter: its held share times that of its hazard."""
        bands, gathered = self._by_band[:, age], self._gathered[:, age, None]
        hazard = np.hstack([gathered, bands[:, 1:], gathered * self._columns])
        slopes: Array = np.exp(-gathered) * hazard
        return slopes

    def _foreseen(self, expected: Array, squares: Array, slopes: Array) -> Foreseen:
        relative = np.divide(slopes, expected[:, None], out=np.zeros_like(slopes), where=expected[:, None] > 0)
        return Foreseen(expected, squares, relative @ self._covariance @ relative.T)

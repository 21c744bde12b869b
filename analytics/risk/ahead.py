"""What repairs that have held so far may still do: leak-backs foreseen in spans of age, and how sure that is."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.features import STEPS
from analytics.risk.model import HazardModel
from analytics.risk.poisson import Array
from analytics.risk.predict import band_years, columns
from analytics.risk.scaling import SLICE


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
        self._model, self._from, self._to = model, from_days, to_days
        self._columns = columns(model, cracks, STEPS).columns
        self._relative = np.exp(self._columns @ model.effects)

    @property
    def chances(self) -> Array:
        """The chance that each crack leaks back by each age (cracks by ages), given that it has held so far."""
        return np.concatenate([np.empty((0, self._to.shape[1])), *(part.chances for part in self._parts(self._to))])

    def between_ages(self) -> Foreseen:
        """What is foreseen up to the first age, then from each age to the next, of all cracks together."""
        ages = self._to.shape[1]
        expected, squares, slopes = np.zeros(ages), np.zeros(ages), np.zeros((ages, len(self._model.parameters)))
        for part in self._parts(self._to):
            chances = np.diff(part.chances, axis=1, prepend=0.0)
            expected += chances.sum(axis=0)
            squares += (chances**2).sum(axis=0)
            slopes += part.slopes_by_age()
        return self._foreseen(expected, squares, np.diff(slopes, axis=0, prepend=0.0))

    def by_group(self, place: NDArray[np.int64], groups: int) -> Foreseen:
        """What is foreseen up to the last age, of each of ``groups`` groups; ``place`` has a crack's group."""
        expected, squares, slopes = np.zeros(groups), np.zeros(groups), np.zeros((groups, len(self._model.parameters)))
        for part in self._parts(self._to[:, -1:]):
            by, chances = _Groups.of(place[part.rows], groups), part.chances[:, 0]
            expected += by.sums(chances)
            squares += by.sums(chances**2)
            slopes += by.sums(part.slopes())
        return self._foreseen(expected, squares, slopes)

    def altogether(self) -> Foreseen:
        """What is foreseen up to the last age, of all cracks together."""
        return self.by_group(np.zeros(len(self._columns), dtype=np.int64), 1)

    def _parts(self, to_days: Array) -> Iterator["_Part"]:
        """The cracks slice by slice: a million at every age and in every band would fill the memory."""
        for first in range(0, len(self._columns), SLICE):
            rows = slice(first, first + SLICE)
            ends = to_days[rows]
            begins = np.repeat(self._from[rows], ends.shape[1])
            years = band_years(self._model, begins, ends.reshape(-1)).reshape(*ends.shape, -1)
            by_band = years * np.exp(self._model.log_hazards) * self._relative[rows, None, None]
            yield _Part(rows, self._columns[rows], by_band, by_band.sum(axis=2))

    def _foreseen(self, expected: Array, squares: Array, slopes: Array) -> Foreseen:
        relative = np.divide(slopes, expected[:, None], out=np.zeros_like(slopes), where=expected[:, None] > 0)
        return Foreseen(expected, squares, relative @ np.array(self._model.covariance) @ relative.T)


@dataclass(frozen=True, eq=False)
class _Part:
    """Some of the cracks: their ``columns``, and their hazard gathered by each age, in each band and in all."""

    rows: slice
    columns: Array
    by_band: Array
    gathered: Array

    @property
    def chances(self) -> Array:
        """The chance that each leaks back by each age (cracks by ages)."""
        chances: Array = -np.expm1(-self.gathered)
        return chances

    def slopes_by_age(self) -> Array:
        """The change of the summed chances with each parameter (ages by parameters): held share times the hazard's."""
        held = np.exp(-self.gathered)
        own = held * self.gathered
        bands = np.einsum("ca,cab->ab", held, self.by_band[:, :, 1:])
        return np.hstack([own.sum(axis=0)[:, None], bands, own.T @ self.columns])

    def slopes(self) -> Array:
        """The change of each crack's chance at the last age with each parameter (cracks by parameters)."""
        gathered = self.gathered[:, -1:]
        held = np.exp(-gathered)
        own = held * gathered
        return np.hstack([own, held * self.by_band[:, -1, 1:], own * self.columns])


@dataclass(frozen=True, eq=False)
class _Groups:
    """Cracks in the ``order`` of their groups: those ``present``, the first crack of each, and how many there are."""

    order: NDArray[np.int64]
    present: NDArray[np.int64]
    firsts: NDArray[np.int64]
    count: int

    @classmethod
    def of(cls, place: NDArray[np.int64], count: int) -> "_Groups":
        """Of each crack's group, from 0 to ``count`` - 1."""
        order = np.argsort(place, kind="stable")
        return cls(order, *np.unique(place[order], return_index=True), count)

    def sums(self, values: Array) -> Array:
        """The sum over each group (groups first) of a value a crack, or of a row a crack."""
        found = np.zeros((self.count, *values.shape[1:]))
        found[self.present] = np.add.reduceat(values[self.order], self.firsts, axis=0)
        return found

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

AT_ONCE = 20_000
"""Cracks looked at together."""


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
        self._model, self._cracks = model, cracks
        self._from_days, self._to_days = from_days, to_days

    @property
    def chances(self) -> Array:
        """The chance that each crack leaks back by each age (cracks by ages), given that it has held so far."""
        return np.concatenate([block.chances for block in self._blocks()] or [np.empty_like(self._to_days)])

    def between_ages(self) -> Foreseen:
        """What is foreseen up to the first age, then from each age to the next, of all cracks together."""
        ages = self._to_days.shape[1]
        expected, squares, slopes = np.zeros(ages), np.zeros(ages), np.zeros((ages, len(self._model.parameters)))
        for block in self._blocks():
            chances = np.diff(block.chances, axis=1, prepend=0.0)
            expected += chances.sum(axis=0)
            squares += (chances**2).sum(axis=0)
            slopes += np.diff(block.slopes(), axis=0, prepend=0.0)
        return self._foreseen(expected, squares, slopes)

    def by_group(self, place: NDArray[np.int64], groups: int) -> Foreseen:
        """What is foreseen up to the last age, of each of ``groups`` groups; ``place`` has a crack's group."""
        expected, squares, slopes = np.zeros(groups), np.zeros(groups), np.zeros((groups, len(self._model.parameters)))
        for block in self._blocks(last_alone=True):
            member = np.eye(groups)[place[block.place]].T
            expected += member @ block.chances[:, 0]
            squares += member @ block.chances[:, 0] ** 2
            slopes += member @ block.slopes_each()
        return self._foreseen(expected, squares, slopes)

    def altogether(self) -> Foreseen:
        """What is foreseen up to the last age, of all cracks together."""
        return self.by_group(np.zeros(self._cracks.height, dtype=np.int64), 1)

    def _blocks(self, *, last_alone: bool = False) -> Iterator["_Block"]:
        """The cracks, some at a time: by ages, bands and parameters all of them would not fit into memory."""
        to_days = self._to_days[:, -1:] if last_alone else self._to_days
        for first in range(0, self._cracks.height, AT_ONCE):
            place = slice(first, first + AT_ONCE)
            yield _Block(self._model, self._cracks[place], self._from_days[place], to_days[place], place)

    def _foreseen(self, expected: Array, squares: Array, slopes: Array) -> Foreseen:
        relative = np.divide(slopes, expected[:, None], out=np.zeros_like(slopes), where=expected[:, None] > 0)
        return Foreseen(expected, squares, relative @ np.array(self._model.covariance) @ relative.T)


class _Block:
    """Some of the cracks, at ``place`` among all: their chances and how these change with each parameter."""

    def __init__(
        self, model: HazardModel, cracks: pl.DataFrame, from_days: Array, to_days: Array, place: slice
    ) -> None:
        self.place = place
        begins, ends = np.repeat(from_days, to_days.shape[1]), to_days.reshape(-1)
        years = band_years(model, begins, ends).reshape(*to_days.shape, len(model.edges_days))
        self._columns = columns(model, cracks, STEPS).columns
        relative = np.exp(self._columns @ model.effects)
        self._by_band = years * np.exp(model.log_hazards) * relative[:, None, None]
        self._gathered = self._by_band.sum(axis=2)
        self._held: Array = np.exp(-self._gathered)
        self.chances: Array = -np.expm1(-self._gathered)

    def slopes(self) -> Array:
        """The change of the summed chances with each parameter (ages by parameters)."""
        weighed = self._held * self._gathered
        bands = np.einsum("ca,cab->ab", self._held, self._by_band[:, :, 1:])
        return np.hstack([weighed.sum(axis=0)[:, None], bands, weighed.T @ self._columns])

    def slopes_each(self) -> Array:
        """The change of each crack's chance by the first age: its held share times that of its hazard."""
        gathered, bands = self._gathered[:, :1], self._by_band[:, 0, 1:]
        slopes: Array = self._held[:, :1] * np.hstack([gathered, bands, gathered * self._columns])
        return slopes

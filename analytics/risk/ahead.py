"""What repairs that have held so far may still do: leak-backs foreseen in spans of age, and how sure that is."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.exposure import band_years
from analytics.risk.features import STEPS
from analytics.risk.model import HazardModel
from analytics.risk.poisson import Array
from analytics.risk.predict import encoded
from analytics.stats.slices import SLICE, slices

AT_ONCE = 500_000
"""Ages, of all the cracks of a slice, at which leak-backs are counted at once."""


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

    Each crack has an age from which it is looked at, and one, never before it, at which that ends. Leak-backs are
    counted so many ``days`` after the first age, which never fall, or at the end where that is sooner; without
    ``days`` at the end alone. What was done on the day is known of a done crack and is read.
    """

    def __init__(
        self, model: HazardModel, cracks: pl.DataFrame, from_days: Array, end_days: Array, days: Array | None = None
    ) -> None:
        self._model, self._cracks, self._from, self._end = model, cracks, from_days, end_days
        self._days = np.array([np.inf]) if days is None else days

    @property
    def chances(self) -> Array:
        """The chance that each crack leaks back by each age (cracks by ages), given that it has held so far."""
        parts = (part.chances for part in self._parts(self._days))
        return np.concatenate([np.empty((0, len(self._days))), *parts])

    def between_ages(self) -> Foreseen:
        """What is foreseen up to the first age, then from each age to the next, of all cracks together."""
        ages = len(self._days)
        expected, squares, slopes = np.zeros(ages), np.zeros(ages), np.zeros((ages, len(self._model.parameters)))
        for part in self._parts(self._days):
            chances = np.diff(part.chances, axis=1, prepend=0.0)
            expected += chances.sum(axis=0)
            squares += (chances**2).sum(axis=0)
            slopes += part.slopes_by_age()
        return self._foreseen(expected, squares, np.diff(slopes, axis=0, prepend=0.0))

    def by_group(self, place: NDArray[np.int64], groups: int) -> Foreseen:
        """What is foreseen up to the last age, of each of ``groups`` groups; ``place`` has a crack's group."""
        (found,) = self._by_groups((place, groups))
        return found

    def altogether_and_by_group(self, place: NDArray[np.int64], groups: int) -> tuple[Foreseen, Foreseen]:
        """What is foreseen up to the last age, of all cracks together, and ``by_group``."""
        whole, by_group = self._by_groups((np.zeros_like(place), 1), (place, groups))
        return whole, by_group

    def _by_groups(self, *groupings: tuple[NDArray[np.int64], int]) -> list[Foreseen]:
        """What is foreseen up to the last age by each grouping, the cracks looked at once."""
        effects = len(self._model.parameters)
        sums = [(np.zeros(count), np.zeros(count), np.zeros((count, effects))) for _, count in groupings]
        for part in self._parts(self._days[-1:]):
            chances, own = part.chances[:, 0], part.slopes()
            for (place, count), totals in zip(groupings, sums, strict=True):
                by = _Groups.of(place[part.rows], count)
                for total, each in zip(totals, (chances, chances**2, own), strict=True):
                    np.add(total, by.sums(each), out=total)
        return [self._foreseen(*each) for each in sums]

    def _parts(self, days: Array) -> Iterator["_Part"]:
        """The cracks slice by slice: a million with all their columns, at every age and in every band fill the memory.

        So the columns are read again each time, which takes no longer than fetching them from memory would.
        """
        for rows in slices(len(self._from), min(SLICE, max(AT_ONCE // len(days), 1))):
            x = encoded(self._model, self._cracks[rows], STEPS).columns
            relative = np.exp(x @ self._model.effects)
            ends = np.minimum(self._from[rows, None] + days, self._end[rows, None])
            begins = np.repeat(self._from[rows], len(days))
            years = band_years(self._model.edges_days, begins, ends.reshape(-1)).reshape(*ends.shape, -1)
            by_band = years * np.exp(self._model.log_hazards) * relative[:, None, None]
            yield _Part(rows, x, by_band, by_band.sum(axis=2))

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

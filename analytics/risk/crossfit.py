"""Leak-backs expected of each crew's cracks by a model fitted to the other crews' only.

Left in, a bad crew would raise what is expected of it, the more the fewer crews there are.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import DAYS_PER_YEAR
from analytics.errors import TooFewError
from analytics.risk.design import Design, FitRows, prepare
from analytics.risk.exposure import band_years, stand_ins
from analytics.risk.features import FEATURES, Feature
from analytics.risk.hazard import FEWEST_LEAK_BACKS
from analytics.risk.model import Penalties
from analytics.risk.poisson import Array, PoissonFit, covariance, fit_poisson
from analytics.risk.scaling import Scaling, facts, standardised
from analytics.stats.slices import slices
from analytics.stats.threads import one_thread

MOST_FITS = 12
"""With more crews than this, several are left out together: the others still have 11 in 12 of the cracks."""
FEWEST_OTHERS = 10
"""Leak-backs that the others have to have themselves, for a hazard that changes with age. Whether they are enough is
asked of what they would have at the rate of all: were it asked of these, in a small business a crew with few leak-backs
would be judged and one with many not, for what it is to be judged by."""
NOBODY = -1
"""The place of cracks of which nothing is expected, of no crew or of one whose others are too few; they do count among
the others."""


@dataclass(frozen=True, eq=False)
class Left:
    """A model of the cracks left when some crews are taken out: intercept and coefficients, and their covariance."""

    parameters: Array
    covariance: Array


@dataclass(frozen=True, eq=False)
class CrossFit:
    """What the other crews' records foretell of each of n cracks.

    ``hazards`` (n by age bands): leak-backs a crack-year. ``crews`` by name, ``places`` (n) index them; ``left``
    is the model without each crew, ``facts`` (n by features) what it reads, before its ``scaling``. ``silent``: why
    nothing can be expected of the crews that are not among them. ``apart``: those of them that have nearly all
    leak-backs themselves.
    """

    edges_days: tuple[int, ...]
    hazards: Array
    crews: tuple[str, ...]
    places: NDArray[np.int64]
    left: tuple[Left, ...]
    facts: pl.DataFrame
    scaling: Scaling
    silent: Mapping[str, str]
    apart: frozenset[str] = frozenset()

    def until(self, ages_days: Array, rows: NDArray[np.int64] | None = None) -> Array:
        """Leak-backs expected of each crack, or of those at the places ``rows``, from its repair to its age (n)."""
        expected = np.empty(len(ages_days))
        for part in slices(len(ages_days)):
            hazards = self.hazards[part if rows is None else rows[part]]
            expected[part] = (band_years(self.edges_days, 0.0, ages_days[part]) * hazards).sum(axis=1)
        return expected

    def alike(self, *keys: Array) -> tuple["CrossFit", NDArray[np.int64]]:
        """The cracks of a crew that are alike in all ``keys`` (n each) as one, their hazards added up; one of each."""
        order = np.lexsort((*keys, self.places))
        apart = np.any([np.diff(key[order]) != 0 for key in (*keys, self.places)], axis=0)
        first = np.concatenate([[0], np.flatnonzero(apart) + 1])
        one = order[first]
        summed = np.add.reduceat(self.hazards[order], first)
        return replace(self, hazards=summed, places=self.places[one], facts=self.facts.clear()), one

    def usual(self, age_days: float) -> Array:
        """Leak-backs expected of each crew's usual crack by this age (crews); not of cracks put together as alike."""
        years, cracks = band_years(self.edges_days, 0.0, np.array([age_days]))[0], np.bincount(self.places + 1)[1:]
        by_band = np.array([np.bincount(self.places + 1, each)[1:] for each in self.hazards.T])
        expected: Array = years @ by_band / cracks
        return expected

    def relative_variance(self, ages_days: Array) -> dict[str, float]:
        """Each crew's variance of the sum of ``until`` over that sum, squared: expected is an estimate itself."""
        places = np.where(self.places == NOBODY, len(self.crews), self.places)
        weights = self._weights(ages_days)
        slopes = np.array([np.bincount(places, each, minlength=len(self.crews) + 1) for each in weights]).T
        return {
            crew: float(slope @ left.covariance @ slope / slope[0] ** 2) if slope[0] > 0 else 0.0
            for crew, left, slope in zip(self.crews, self.left, slopes[:-1], strict=True)
        }

    def _weights(self, ages_days: Array) -> Iterator[Array]:
        """The slope of what is expected of each crack (n) by each parameter, one after the other."""
        yield (total := self.until(ages_days))
        begins = (*self.edges_days[1:], np.inf)
        for band, (begin, end) in enumerate(pairwise(begins), 1):
            years = np.maximum(np.minimum(ages_days, end) - begin, 0.0) / DAYS_PER_YEAR
            yield years * self.hazards[:, band]
        for name in self.facts.columns:
            yield total * standardised(self.scaling, self.facts.select(name))[:, 0]


@one_thread()
def cross_fit(follow_up: pl.DataFrame, penalties: Penalties, features: tuple[Feature, ...] = FEATURES) -> CrossFit:
    """Fit the hazard without crews once for each crew, to the cracks of the others.

    Age bands and scaling are learnt once, from all cracks; of very many some stand for all in the fits. TooFewError
    where every crew's others have too few leak-backs to fit anything.
    """
    stand_for = stand_ins(follow_up)
    design, some = prepare(follow_up, features, with_crews=False, weights=stand_for)
    weights = design.penalties(penalties)
    crews = tuple(follow_up["crew_id"].drop_nulls().unique().sort())
    if len(crews) == 1:
        raise TooFewError("there is only one crew, and no other to hold it against.")
    numbers = {crew: place for place, crew in enumerate(crews)}
    crew_ids = follow_up["crew_id"].cast(pl.String)
    places = crew_ids.replace_strict(numbers, default=NOBODY, return_dtype=pl.Int64).to_numpy()
    of_some = places[stand_for > 0]
    left: dict[int, Left] = {}
    silent: dict[str, str] = {}
    apart: set[str] = set()
    total = float(some.leaked.sum())
    if total < FEWEST_LEAK_BACKS:
        raise TooFewError(f"{_too_few('all cracks', total, FEWEST_LEAK_BACKS)}.")
    of_all = fit_poisson(some.x, some.leaked, some.years, weights)
    usual = of_all.expected(some.x, some.years).sum(axis=1)
    for fold in _folds(follow_up, numbers):
        own = np.isin(of_some, fold)
        others = some.only(~own)
        names, by_others = [crews[place] for place in fold], total - usual[own].sum()
        if by_others < FEWEST_LEAK_BACKS:
            whose = "at the rate of all, the other crews' cracks"
            silent |= dict.fromkeys(names, _too_few(whose, by_others, FEWEST_LEAK_BACKS, "would have"))
        elif (leaked := others.leaked.sum()) < FEWEST_OTHERS:
            silent |= dict.fromkeys(names, _too_few("the other crews' cracks", leaked, FEWEST_OTHERS))
            apart |= set(names)
        else:
            left |= dict.fromkeys(fold, _fit(others, weights, of_all))
    if silent and not left:
        raise TooFewError(f"{next(iter(silent.values()))}.")
    told = np.array(sorted(left), dtype=np.int64)
    again = np.full(len(crews) + 1, NOBODY)  # the last is NOBODY's own place
    again[told] = np.arange(len(told))
    read = facts(design.scaling.declared, follow_up)
    return CrossFit(
        edges_days=design.edges_days,
        hazards=_hazards(design, read, places, left),
        crews=tuple(crews[place] for place in told),
        places=again[places],
        left=tuple(left[place] for place in told),
        facts=read,
        scaling=design.scaling,
        silent=silent,
        apart=frozenset(apart),
    )


def _too_few(whose: str, found: float, needed: int, have: str = "have") -> str:
    return (
        f"{whose} {have} {int(found)} leak-backs, too few to say what to expect of a crew: "
        f"{needed} are needed, {needed - int(found)} more"
    )


def _fit(table: FitRows, weights: Array, start: PoissonFit) -> Left:
    """The model of the others' cracks, found from that of all."""
    fitted = fit_poisson(table.x, table.leaked, table.years, weights, start)
    return Left(fitted.parameters, covariance(fitted, table.x, table.leaked, table.years, weights, table.jobs))


def _hazards(design: Design, read: pl.DataFrame, places: NDArray[np.int64], left: Mapping[int, Left]) -> Array:
    """Leak-backs a crack-year of each crack in each age band, by the model without its crew; 0 where there is none."""
    bands = len(design.edges_days)
    hazards = np.zeros((read.height, bands))
    models = {id(model): model for model in left.values()}  # some crews are left out together
    for part in slices(read.height):
        x = standardised(design.scaling, read[part])
        for model in models.values():
            own = np.isin(places[part], [place for place, each in left.items() if each is model])
            ages = model.parameters[0] + np.concatenate([[0.0], model.parameters[1:bands]])
            hazards[part][own] = np.exp(ages + (x[own] @ model.parameters[bands:])[:, None])
    return hazards


def _folds(follow_up: pl.DataFrame, numbers: dict[str, int]) -> list[list[int]]:
    """Crews left out together, by place: each alone where they are few, else dealt out by size, to and fro."""
    sizes = (
        follow_up.drop_nulls("crew_id")
        .group_by("crew_id")
        .agg(pl.len(), pl.col("watched_days").sum())
        .sort("len", "watched_days", "crew_id", descending=[True, True, False])
    )
    order = [numbers[crew] for crew in sizes["crew_id"]]
    count = min(len(order), MOST_FITS)
    dealt = np.arange(len(order)) % (2 * count) if count else np.arange(0)
    fold = np.where(dealt < count, dealt, 2 * count - 1 - dealt)
    return [[place for place, at in zip(order, fold, strict=True) if at == number] for number in range(count)]

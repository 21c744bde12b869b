"""Done cracks in strata: how many took each choice, which strata can be compared, and the plain curves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import DAYS_PER_YEAR, horizon_days
from analytics.contract.bounds import FEWEST_JOBS
from analytics.contract.dimensions import NOT_RECORDED, dimension
from analytics.risk.jobs import job_numbers
from analytics.risk.poisson import Array
from analytics.stats.sampling import Sample, evenly
from analytics.stats.survival import (
    LEAST_WATCHED,
    Curve,
    LogRank,
    leak_back_interval,
    log_rank_by_cluster,
    product_limit,
)

PAIR = 2
MOST_MEMBERS = 10_000
"""Cracks that stand for those of a stratum that took one choice, where there are more. The demo's risks lie about their
mean by 0.7 of it, so the mean risk of as many, were they drawn at random, has a standard error of 0.7 %."""
RATES = {
    "choice": pl.String(),
    **dict.fromkeys(("age_months", "cracks", "events", "watched"), pl.Int64()),
    **dict.fromkeys(("value", "low", "high"), pl.Float64()),
}


class Units(NamedTuple):
    """Cracks one by one (n): leak-backs, years watched, and the numbers of their choice, stratum and job."""

    leaked: Array
    years: Array
    choices: NDArray[np.int64]
    strata: NDArray[np.int64]
    jobs: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Strata:
    """Done cracks (a follow-up frame) on which ``column`` took one of k ``choices``, in s strata by the columns ``by``.

    A stratum is kept to be compared where each choice has LEAST_WATCHED cracks in it. ``compared`` is whether any is:
    where not, plain figures are told of every crack.
    """

    cracks: pl.DataFrame
    column: str
    choices: Sequence[str]
    by: Sequence[str]
    compared: bool = True

    @property
    def names(self) -> list[tuple[str, ...]]:
        """What is recorded of each stratum's columns, in words."""
        return [tuple(map(_in_words, recorded)) for recorded in self._recorded]

    @cached_property
    def taken(self) -> NDArray[np.int64]:
        """Cracks of each stratum that took each choice (s by k)."""
        return self._summed(None).astype(np.int64)

    def leak_backs(self, months: int) -> NDArray[np.int64]:
        """Those of them that leaked back within ``months`` (s by k)."""
        return self._summed(self._leaked(months)).astype(np.int64)

    def units(self, months: int) -> Units:
        """The cracks that took one of the choices, watched for ``months`` at most."""
        took = self._choice < len(self.choices)
        years = self.cracks["watched_days"].clip(upper_bound=horizon_days(months)).to_numpy() / DAYS_PER_YEAR
        return Units(self._leaked(months)[took], years[took], self._choice[took], self._stratum[took], self._job[took])

    @cached_property
    def kept(self) -> NDArray[np.bool_]:
        """Whether each stratum has enough cracks of every choice (s)."""
        enough: NDArray[np.bool_] = np.all(self.taken >= LEAST_WATCHED, axis=1)
        return enough if self.choices else np.zeros_like(enough)

    @property
    def told(self) -> NDArray[np.bool_]:
        """Of which strata plain figures are told: those that are kept, of all where none is compared (s)."""
        return self.kept if self.compared and self.kept.any() else np.ones_like(self.kept)

    def of_told(self, *columns: str | pl.Series) -> pl.DataFrame:
        """Some columns of the cracks that plain figures are told of."""
        told: pl.DataFrame = self.cracks.select(columns).filter(pl.Series(self.told[self._stratum]))
        return told

    @cached_property
    def sample(self) -> Sample:
        """The cracks of the strata that are kept, by stratum; of many that took one choice some, evenly over days.

        What is rare is looked at whole, however many took the other choices.
        """
        every_choice = range(len(self.choices))
        return Sample.joined(
            self._of_cell(stratum, each) for stratum in np.flatnonzero(self.kept).tolist() for each in every_choice
        )

    def _of_cell(self, stratum: int, choice: int) -> Sample:
        """Those who stand for the cracks of a stratum that took a choice."""
        ends, taken = self._ends[stratum, choice], self.taken[stratum, choice]
        places = self._by_cell[ends - taken : ends][evenly(taken, MOST_MEMBERS)]
        return Sample(places, np.full_like(places, stratum), np.full(len(places), taken / len(places)))

    def rates(self, ages_months: Sequence[int], level: float) -> pl.DataFrame:
        """The product-limit rates of the strata that are told, as for any other grouping: a row a choice and age.

        Columns choice, age_months, cracks, events, watched, value, low, high; null where too few are watched, or the
        cracks are of fewer than FEWEST_JOBS jobs.
        """
        days = [horizon_days(months) for months in ages_months]
        parts = []
        for choice, curve in self.curves.items():
            read = curve.read(days)
            found = leak_back_interval(read.survival, read.var_log, read.events, read.watched, level)
            enough = self._jobs[choice] >= FEWEST_JOBS
            rates = {name: each if enough else None for name, each in found._asdict().items()}
            told = {"choice": choice, "age_months": ages_months, "cracks": curve.times.size}
            parts.append(pl.DataFrame(told | {"events": read.events, "watched": read.watched} | rates, schema=RATES))
        return pl.concat(parts).fill_nan(None) if parts else pl.DataFrame(schema=RATES)

    @cached_property
    def curves(self) -> Mapping[str, Curve]:
        """The plain curve of each choice in the strata that are told, cracks of a job together; none without cracks."""
        parts = {choice: self._watched.filter(pl.col(self.column) == choice) for choice in self.choices}
        return {
            choice: product_limit(part["watched_days"], part["leaked_back"], part["job"])
            for choice, part in parts.items()
            if part.height
        }

    @cached_property
    def log_rank(self) -> LogRank | None:
        """Whether two plain curves differ; None unless there are two that can be told."""
        if len(self.choices) != PAIR or self._watched.is_empty():
            return None
        watched = self._watched
        chosen = watched[self.column] == self.choices[1]
        found = log_rank_by_cluster(watched["watched_days"], watched["leaked_back"], chosen, watched["job"])
        return None if np.isnan(found.chi2) else found

    @cached_property
    def _watched(self) -> pl.DataFrame:
        """What curves are made of, with a number a job, which is sorted sooner than its name."""
        return self.of_told(self.column, "watched_days", "leaked_back", pl.Series("job", self._job))

    @cached_property
    def _jobs(self) -> Mapping[str, int]:
        """Of how many jobs the cracks of each plain curve are."""
        counts = self._watched.group_by(self.column).agg(pl.col("job").n_unique())
        return dict(counts.iter_rows())

    @cached_property
    def _job(self) -> NDArray[np.int64]:
        """The number of each crack's job."""
        return job_numbers(self.cracks)

    def _leaked(self, months: int) -> Array:
        """Each crack's leak-back within ``months``: 1 or 0 (n)."""
        found = self.cracks["leaked_back"] & (self.cracks["watched_days"] <= horizon_days(months))
        return found.to_numpy().astype(np.float64)

    @cached_property
    def _recorded(self) -> list[tuple[str | None, ...]]:
        """What is recorded of the strata that hold any crack, in the order of the words."""
        ranks = [dimension(column).rank for column in self.by]
        found = self.cracks.select(self.by).unique().rows()
        return sorted(found, key=lambda names: [rank(_in_words(name)) for rank, name in zip(ranks, names, strict=True)])

    @cached_property
    def _stratum(self) -> NDArray[np.int64]:
        """The place of each crack's stratum."""
        schema = dict.fromkeys(self.by, pl.String())
        strata = pl.DataFrame(self._recorded, schema=schema, orient="row").with_columns(place=pl.int_range(pl.len()))
        own = self.cracks.select(pl.col(self.by).cast(pl.String))
        places = own.join(strata, on=self.by, how="left", nulls_equal=True, maintain_order="left")["place"]
        return places.to_numpy().astype(np.int64)

    @cached_property
    def _by_cell(self) -> NDArray[np.int64]:
        """The cracks' places by stratum and choice, within these in the order of their days, then of their names."""
        days = self.cracks.select("done_on", "crack_id", cell=pl.Series(self._cell), row=pl.int_range(pl.len()))
        return days.sort("cell", "done_on", "crack_id")["row"].to_numpy()

    @cached_property
    def _choice(self) -> NDArray[np.int64]:
        """The number of each crack's choice; another than these comes last."""
        places = {choice: place for place, choice in enumerate(self.choices)}
        chosen = self.cracks[self.column].cast(pl.String)
        return chosen.replace_strict(places, default=len(places), return_dtype=pl.Int64).to_numpy()

    @cached_property
    def _cell(self) -> NDArray[np.int64]:
        """Each crack's stratum and choice as one number."""
        cell: NDArray[np.int64] = self._stratum * (len(self.choices) + 1) + self._choice
        return cell

    @cached_property
    def _ends(self) -> NDArray[np.int64]:
        """Where each stratum and choice ends in ``_by_cell`` (s by k + 1)."""
        counts = self._in_cells(None)
        return counts.cumsum().reshape(counts.shape).astype(np.int64)

    def _summed(self, each: Array | None) -> Array:
        """The cracks, or what there is of each (n), summed by stratum and choice (s by k)."""
        return self._in_cells(each)[:, : len(self.choices)]

    def _in_cells(self, each: Array | None) -> Array:
        """The same with those of another choice in a last column (s by k + 1)."""
        shape = (len(self._recorded), len(self.choices) + 1)
        sums: Array = np.bincount(self._cell, each, minlength=shape[0] * shape[1]).astype(np.float64).reshape(shape)
        return sums


def _in_words(recorded: str | None) -> str:
    return NOT_RECORDED if recorded is None else str(recorded)

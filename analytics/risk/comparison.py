"""Choices compared on the same cracks: the plain figures, the standardised ones, and how the cracks differ."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import add

import numpy as np
import polars as pl

from analytics.contract.ages import DAYS_PER_YEAR, horizon_days
from analytics.contract.dimensions import dimension
from analytics.risk.model import HazardModel
from analytics.risk.standardise import Means, Summed, case_mix, means, under_each
from analytics.risk.verdict import Estimate
from analytics.stats.multiplicity import stands
from analytics.stats.standardisation import Pooled, e_value, e_value_of_interval, pooled_rate_ratio
from analytics.stats.survival import (
    LEAST_WATCHED,
    Curve,
    LogRank,
    leak_back_interval,
    log_rank_by_cluster,
    product_limit,
)

NOT_RECORDED = "not recorded"
WET = ("seeping", "running")
PAIR = 2


@dataclass(frozen=True, eq=False)
class _Kind:
    """A stratum: its ``names`` and cracks, how many took each choice and leaked back; sums where ``kept``."""

    names: tuple[str, ...]
    members: pl.DataFrame
    cracks: tuple[int, ...]
    leak_backs: tuple[int, ...]
    kept: bool
    summed: Summed | None


@dataclass(frozen=True, eq=False)
class Plain:
    """What is seen of each choice's own cracks, however long one looks: its curve, and whether two curves differ."""

    curves: Mapping[str, Curve]
    log_rank: LogRank | None


@dataclass(frozen=True, eq=False)
class Compared:
    """Done cracks (a follow-up frame) on which ``column`` took each of ``choices``, compared within ``months``.

    ``strata`` are columns of ``cracks``; a stratum is compared where each choice has LEAST_WATCHED cracks in it. By
    ``model``; None where there is too little history for one, and then there are plain figures only. ``known``: the
    ``plain`` of the same cracks and choices, where it was worked out before.
    """

    cracks: pl.DataFrame
    column: str
    choices: Sequence[str]
    strata: Sequence[str]
    model: HazardModel | None
    months: int
    level: float
    known: Plain | None = None

    def rows(self) -> pl.DataFrame:
        """One row a choice: choice, cracks, leak_backs, watched; crude, the plain rate; value, the standardised."""
        means = self._means
        rows = []
        for place, choice in enumerate(self.choices):
            fair = means.estimate(place, self.level) if means else None
            cracks = sum(kind.cracks[place] for kind in self._kinds if kind.kept)
            rows.append({"choice": choice, "cracks": cracks, **self._crude(choice), **_cells("value", fair)})
        return pl.DataFrame(rows, schema=_TEXT | _WHOLE | _spread("crude", "value"))

    def contrasts(self) -> pl.DataFrame:
        """Each choice against the others (of two, the second against the first).

        difference and ratio of the standardised risks; e_value and e_value_interval of that ratio; pooled, the ratio
        of the plain rates pooled over the strata, without a model; p_value of the ratio, and whether it ``stands``
        among as many looks (Benjamini & Hochberg).
        """
        means = self._means
        places = range(len(self.choices)) if len(self.choices) != PAIR else (1,)
        rows = []
        for place in places:
            ratio = means.ratio(place, self.level) if means else None
            row = {
                "choice": self.choices[place],
                **_cells("difference", means.difference(place, self.level) if means else None),
                **_cells("ratio", ratio),
                "e_value": e_value(ratio.value) if ratio else None,
                "e_value_interval": e_value_of_interval(ratio.low, ratio.high) if ratio else None,
                **_cells("pooled", self._pooled(self.choices[place])),
                "p_value": means.p_value(place) if means else 1.0,
            }
            rows.append(row)
        e_values = dict.fromkeys(("e_value", "e_value_interval"), pl.Float64())
        schema = _TEXT | _spread("difference", "ratio") | e_values | _spread("pooled") | {"p_value": pl.Float64()}
        found = pl.DataFrame(rows, schema=schema)
        return found.with_columns(stands=pl.Series(stands(found["p_value"], 1 - self.level), dtype=pl.Boolean))

    def by_stratum(self) -> pl.DataFrame:
        """The strata's columns, choice, cracks, leak_backs, the standardised value, and whether it is ``kept``."""
        rows = []
        for kind in self._kinds:
            fair = means(self.model, kind.summed) if self.model and kind.summed else None
            for place, choice in enumerate(self.choices):
                counted = {"choice": choice, "cracks": kind.cracks[place], "leak_backs": kind.leak_backs[place]}
                value = _cells("value", fair.estimate(place, self.level) if fair else None)
                rows.append(dict(zip(self.strata, kind.names, strict=True)) | counted | value | {"kept": kind.kept})
        counts = {name: _WHOLE[name] for name in ("cracks", "leak_backs")}
        where: dict[str, pl.DataType] = dict.fromkeys(self.strata, pl.String())
        return pl.DataFrame(rows, schema=where | _TEXT | counts | _spread("value") | {"kept": pl.Boolean()})

    def case_mix(self) -> pl.DataFrame:
        """How each choice's cracks differ from the others' in all but the choice.

        choice; hazard, how many times as fast they leak back whatever the choice; subject, what makes most of that;
        wet and wet_others, the shares seeping or running.
        """
        rows = []
        for place, choice in enumerate(self.choices) if self.model else ():
            parts = case_mix(self.model, self._summed, self.column, place) if self.model and self._summed else {}
            total = sum(parts.values())
            largest = max(parts, key=lambda name: parts[name] * np.sign(total), default="")
            own = pl.col(self.column) == choice
            wet = self.kept.select(
                wet=pl.col("water").is_in(WET).filter(own).mean(), others=pl.col("water").is_in(WET).filter(~own).mean()
            )
            rows.append((choice, float(np.exp(total)), largest, *wet.row(0)))
        shares = dict.fromkeys(("wet", "wet_others"), pl.Float64())
        schema = _TEXT | {"hazard": pl.Float64(), "subject": pl.String()} | shares
        return pl.DataFrame(rows, schema=schema, orient="row")

    @cached_property
    def plain(self) -> Plain:
        """The plain curves of the cracks kept, cracks of a job together."""
        if self.known:
            return self.known
        cracks = self.kept.select(self.column, "watched_days", "leaked_back", _JOB)
        parts = {choice: cracks.filter(pl.col(self.column) == choice) for choice in self.choices}
        curves = {
            choice: product_limit(part["watched_days"], part["leaked_back"], part["job"])
            for choice, part in parts.items()
            if part.height
        }
        return Plain(curves, self._log_rank(cracks))

    def _log_rank(self, cracks: pl.DataFrame) -> LogRank | None:
        """Whether two plain curves differ; None unless there are two that can be told."""
        if len(self.choices) != PAIR or cracks.is_empty():
            return None
        chosen = cracks[self.column] == self.choices[1]
        found = log_rank_by_cluster(cracks["watched_days"], cracks["leaked_back"], chosen, cracks["job"])
        return None if np.isnan(found.chi2) else found

    def left_out(self) -> tuple[str, ...]:
        """The strata without enough cracks of some choice, in words."""
        thin = self.by_stratum().filter(~pl.col("kept"))
        said = []
        for names, part in thin.group_by(self.strata, maintain_order=True):
            few = part.filter(pl.col("cracks") < LEAST_WATCHED).select("choice", "cracks").iter_rows()
            counts = " and ".join(f"{cracks} with {choice}" for choice, cracks in few)
            said.append(f"{', '.join(map(str, names))}: {counts}, of {part['cracks'].sum()} cracks".replace("_", " "))
        return tuple(said)

    @cached_property
    def kept(self) -> pl.DataFrame:
        """The cracks of the strata where every choice has enough of them."""
        if not self.choices:
            return self.cracks.clear()
        stratum = pl.concat_str(self._in_words, separator=", ")
        cracks = pl.min_horizontal((pl.col(self.column) == choice).sum() for choice in self.choices)
        strata = self.cracks.group_by(stratum.alias("stratum")).agg(cracks=cracks)
        kept = strata.filter(pl.col("cracks") >= LEAST_WATCHED)["stratum"].to_list()
        return self.cracks if len(kept) == strata.height else self.cracks.filter(stratum.is_in(kept))

    @cached_property
    def _kinds(self) -> tuple["_Kind", ...]:
        """The strata that hold any crack, in the order of their words."""
        keys = {f"{column} in words": self._named[column] for column in self.strata}
        parts = self.cracks.with_columns(**keys).partition_by(list(keys), include_key=False, as_dict=True)
        ranks = [dimension(column).rank for column in self.strata]
        order = sorted(parts, key=lambda names: [rank(name) for rank, name in zip(ranks, names, strict=True)])
        return tuple(self._kind(names, parts[names]) for names in order)

    def _kind(self, names: tuple[str, ...], members: pl.DataFrame) -> "_Kind":
        took = [pl.col(self.column) == choice for choice in self.choices]
        leaked = pl.col("leaked_back") & (pl.col("watched_days") <= horizon_days(self.months))
        cracks, leak_backs = (
            members.select((one & those).sum().alias(str(place)) for place, one in enumerate(took)).row(0)
            for those in (pl.lit(value=True), leaked)
        )
        kept = min(cracks, default=0) >= LEAST_WATCHED
        fair = self.model if kept else None
        summed = under_each(fair, members, self.column, self.choices, self.months) if fair else None
        return _Kind(names, members, cracks, leak_backs, kept, summed)

    @cached_property
    def _summed(self) -> Summed | None:
        """All cracks that are kept, summed up; None without any or without a model."""
        each = [kind.summed for kind in self._kinds if kind.summed]
        return reduce(add, each) if each else None

    @cached_property
    def _means(self) -> Means | None:
        return means(self.model, self._summed) if self.model and self._summed else None

    @cached_property
    def _watched(self) -> pl.DataFrame:
        """A row a stratum and choice: leak-backs within the months, and years watched."""
        horizon = horizon_days(self.months)
        leaked = (pl.col("leaked_back") & (pl.col("watched_days") <= horizon)).cast(pl.Float64)
        years = pl.col("watched_days").clip(upper_bound=horizon) / DAYS_PER_YEAR
        keys = (*self.strata, self.column)
        return self._named.group_by(keys).agg(leaked=leaked.sum(), years=years.sum())

    @cached_property
    def _named(self) -> pl.DataFrame:
        return self.cracks.with_columns(self._in_words)

    @property
    def _in_words(self) -> pl.Expr:
        """The strata's columns, with a word for what is not recorded."""
        return pl.col(self.strata).cast(pl.String).fill_null(NOT_RECORDED)

    def _crude(self, choice: str) -> dict[str, float | None]:
        """The product-limit rate, as for any other grouping."""
        curve = self.plain.curves.get(choice)
        if curve is None:
            return {"leak_backs": 0, "watched": 0, **_cells("crude", None)}
        read = curve.read(horizon_days(self.months))
        found = leak_back_interval(read.survival, read.var_log, read.events, read.watched, self.level)
        plain = None if np.isnan(found.value[0]) else Estimate(*(float(part[0]) for part in found))
        return {"leak_backs": int(read.events[0]), "watched": int(read.watched[0]), **_cells("crude", plain)}

    def _pooled(self, choice: str) -> Estimate | None:
        """Leak-backs per year watched with a choice over those with the others, pooled over strata."""
        own = pl.col(self.column) == choice
        sides = [pl.col(one).filter(side).sum() for side in (own, ~own) for one in ("leaked", "years")]
        names = ("leaked", "years", "other_leaked", "other_years")
        each = [one.alias(name) for one, name in zip(sides, names, strict=True)]
        sums = self._watched.group_by(self.strata).agg(each)
        own_leaked, own_years, other_leaked, other_years = (sums[name] for name in names)
        return _told(pooled_rate_ratio(own_leaked, own_years, other_leaked, other_years, self.level))


_JOB = pl.col("job_id").rank("dense").alias("job")
"""A number a job, which is sorted sooner than its name."""


def _told(pooled: Pooled) -> Estimate | None:
    return None if np.isnan(pooled.ratio) else Estimate(*pooled)


def _cells(name: str, estimate: Estimate | None) -> dict[str, float | None]:
    """An estimate as three cells: the value under ``name``, and its interval."""
    parts = (estimate.value, estimate.low, estimate.high) if estimate else (None, None, None)
    return dict(zip(_names(name), parts, strict=True))


def _names(name: str) -> tuple[str, str, str]:
    return (name, "low", "high") if name == "value" else (name, f"{name}_low", f"{name}_high")


def _spread(*names: str) -> dict[str, pl.DataType]:
    return {cell: pl.Float64() for name in names for cell in _names(name)}


_TEXT: dict[str, pl.DataType] = {"choice": pl.String()}
_WHOLE: dict[str, pl.DataType] = dict.fromkeys(("cracks", "leak_backs", "watched"), pl.Int64())

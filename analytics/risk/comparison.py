"""Choices compared on the same cracks: the plain figures, the standardised ones, and how the cracks differ."""

from dataclasses import dataclass
from functools import cached_property, reduce
from operator import add

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.risk.features import WET
from analytics.risk.model import HazardModel
from analytics.risk.standardise import Means, Summed, case_mix, means, under_each
from analytics.risk.strata import PAIR, Strata, Units
from analytics.risk.verdict import Estimate
from analytics.stats.multiplicity import stands
from analytics.stats.standardisation import Pooled, e_value, e_value_of_interval, pooled_rate_ratio_by_cluster
from analytics.stats.survival import LEAST_WATCHED


@dataclass(frozen=True, eq=False)
class Compared:
    """Choices compared within ``months``, in ``strata`` of done cracks.

    By ``model``; None where there is too little history for one, and then there are plain figures only.
    """

    strata: Strata
    model: HazardModel | None
    months: int
    level: float

    def rows(self) -> pl.DataFrame:
        """One row a choice: choice, cracks, leak_backs, watched; crude, the plain rate; value, the standardised."""
        means = self._means
        cracks = self.strata.taken[self.strata.told].sum(axis=0)
        nothing = {"leak_backs": 0, "watched": 0, **_cells("crude", None)}
        rows = []
        for place, choice in enumerate(self.strata.choices):
            fair = means.estimate(place, self.level) if means else None
            crude = self._crude.get(choice, nothing)
            rows.append({"choice": choice, "cracks": int(cracks[place]), **crude, **_cells("value", fair)})
        return pl.DataFrame(rows, schema=_TEXT | _WHOLE | _spread("crude", "value"))

    def contrasts(self) -> pl.DataFrame:
        """Each choice against the others (of two, the second against the first).

        difference and ratio of the standardised risks; e_value and e_value_interval of that ratio; pooled, the ratio
        of the plain rates pooled over the strata, without a model; p_value of the ratio, and whether it ``stands``
        among as many looks (Benjamini & Hochberg).
        """
        means, choices = self._means, self.strata.choices
        rows = []
        for place in range(len(choices)) if len(choices) != PAIR else (1,):
            ratio = means.ratio(place, self.level) if means else None
            row = {
                "choice": choices[place],
                **_cells("difference", means.difference(place, self.level) if means else None),
                **_cells("ratio", ratio),
                "e_value": e_value(ratio.value) if ratio else None,
                "e_value_interval": e_value_of_interval(ratio.low, ratio.high) if ratio else None,
                **_cells("pooled", self._pooled(place)),
                "p_value": means.p_value(place) if means else 1.0,
            }
            rows.append(row)
        e_values = dict.fromkeys(("e_value", "e_value_interval"), pl.Float64())
        schema = _TEXT | _spread("difference", "ratio") | e_values | _spread("pooled") | {"p_value": pl.Float64()}
        found = pl.DataFrame(rows, schema=schema)
        return found.with_columns(stands=pl.Series(stands(found["p_value"]), dtype=pl.Boolean))

    def by_stratum(self) -> pl.DataFrame:
        """The strata's columns, choice, cracks, leak_backs, the standardised value, and whether it is ``kept``."""
        strata, leak_backs = self.strata, self._leak_backs
        rows = []
        for place, (names, summed) in enumerate(zip(strata.names, self._summed_up, strict=True)):
            fair = means(self.model, summed) if self.model and summed else None
            where = dict(zip(strata.by, names, strict=True))
            for column, choice in enumerate(strata.choices):
                cracks, leaked = int(strata.taken[place, column]), int(leak_backs[place, column])
                value = _cells("value", fair.estimate(column, self.level) if fair else None)
                counted = {"choice": choice, "cracks": cracks, "leak_backs": leaked}
                rows.append(where | counted | value | {"kept": bool(strata.kept[place])})
        counts = {name: _WHOLE[name] for name in ("cracks", "leak_backs")}
        text: dict[str, pl.DataType] = dict.fromkeys(strata.by, pl.String())
        return pl.DataFrame(rows, schema=text | _TEXT | counts | _spread("value") | {"kept": pl.Boolean()})

    def case_mix(self) -> pl.DataFrame:
        """How each choice's cracks differ from the others' in all but the choice.

        choice; hazard, how many times as fast they leak back whatever the choice; subject, what makes most of that;
        wet and wet_others, the shares seeping or running.
        """
        column, rows = self.strata.column, []
        cracks = self.strata.of_told(column, "water")
        for place, choice in enumerate(self.strata.choices) if self.model else ():
            parts = case_mix(self.model, self._summed, column, place) if self.model and self._summed else {}
            total = sum(parts.values())
            largest = max(parts, key=lambda name: parts[name] * np.sign(total), default="")
            own = pl.col(column) == choice
            wet = cracks.select(
                wet=pl.col("water").is_in(WET).filter(own).mean(), others=pl.col("water").is_in(WET).filter(~own).mean()
            )
            rows.append((choice, float(np.exp(total)), largest, *wet.row(0)))
        shares = dict.fromkeys(("wet", "wet_others"), pl.Float64())
        schema = _TEXT | {"hazard": pl.Float64(), "subject": pl.String()} | shares
        return pl.DataFrame(rows, schema=schema, orient="row")

    def left_out(self) -> tuple[str, ...]:
        """The strata without enough cracks of some choice, in words; nothing is left out where none is compared."""
        if not self.strata.compared:
            return ()
        strata, said = self.strata, []
        for names, taken, kept in zip(strata.names, strata.taken, strata.kept, strict=True):
            if not kept:
                few = zip(strata.choices, taken, strict=True)
                counts = " and ".join(f"{cracks} with {choice}" for choice, cracks in few if cracks < LEAST_WATCHED)
                said.append(f"{', '.join(names)}: {counts}, of {taken.sum()} cracks".replace("_", " "))
        return tuple(said)

    @cached_property
    def _leak_backs(self) -> NDArray[np.int64]:
        return self.strata.leak_backs(self.months)

    @cached_property
    def _units(self) -> Units:
        return self.strata.units(self.months)

    @cached_property
    def _summed_up(self) -> tuple[Summed | None, ...]:
        """Each stratum's cracks summed up; None where it is not kept, or without a model."""
        if self.model is None:
            return (None,) * len(self.strata.kept)
        strata = self.strata
        found = iter(under_each(self.model, strata.cracks, strata.column, strata.choices, self.months, strata.sample))
        return tuple(next(found) if kept else None for kept in strata.kept)

    @cached_property
    def _summed(self) -> Summed | None:
        """All cracks that are kept, summed up; None without any or without a model."""
        each = [summed for summed in self._summed_up if summed]
        return reduce(add, each) if each else None

    @cached_property
    def _means(self) -> Means | None:
        return means(self.model, self._summed) if self.model and self._summed else None

    @cached_property
    def _crude(self) -> dict[str, dict[str, float | None]]:
        """The plain rate of each choice that some crack took."""
        rates = self.strata.rates([self.months], self.level).select(
            "choice", "watched", leak_backs="events", crude="value", crude_low="low", crude_high="high"
        )
        return {row.pop("choice"): row for row in rates.to_dicts()}

    def _pooled(self, place: int) -> Estimate | None:
        """Leak-backs per year watched with a choice over those with the others, pooled over strata."""
        leaked, years, choices, strata, jobs = self._units
        return _told(pooled_rate_ratio_by_cluster(leaked, years, choices == place, strata, jobs, self.level))


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

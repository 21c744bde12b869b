"""The price book: what a metre of each kind of crack costs, what to charge, and what was charged."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from analytics import risk
from analytics.answers import currencies, experience, flagging
from analytics.answers.modelling import not_kept_up, one_rate
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.steady import steady
from analytics.contract.ages import horizon_days
from analytics.contract.bounds import USUAL_LEVEL, require_level, require_months
from analytics.contract.dimensions import DIMENSIONS, Dimension, dimensions
from analytics.contract.policy import Prices
from analytics.contract.rows import Rows
from analytics.decisions.costs import (
    NO_MARGIN,
    NO_SEAL,
    LeakBackCost,
    RatesInForce,
    leak_back_cost,
    warranty_days,
)
from analytics.decisions.crack_costs import (
    NEEDED,
    PARTS,
    need_rates,
    rate_columns,
    what_is_missing,
    with_charge,
    with_costs,
)
from analytics.decisions.prep import PrepValue
from analytics.decisions.price_book import price_book, segmented
from analytics.decisions.scenarios import AS_IT_IS, Scenario, leak_backs, with_prep
from analytics.errors import LeakbackError
from analytics.risk import Ahead, HazardModel
from analytics.risk.exposure import age_days

BY = ("resin", "width_band", "access", "water")
MONTHS = 24
EXTRA_PREP = "extra_prep"
READ = (
    *risk.READ,
    *("warranty_months", "port_count", "resin_litres", "labour_minutes"),
    *(dimension.column for dimension in DIMENSIONS.values()),
)
"""What is read of the done cracks."""


@dataclass(frozen=True)
class PriceBook:
    """Prices by kind of crack; ``rows`` as in ``price_book``, none where ``said`` says what is missing.

    ``overall`` is the one row of all cracks. ``months`` of work before the as-of day are counted, ``left_out`` cracks
    of them for want of a record.
    """

    as_of: date | None
    by: tuple[Dimension, ...]
    months: int
    level: float
    margin: Decimal | None
    currency: str
    rows: pl.DataFrame
    overall: pl.DataFrame
    left_out: int
    said: tuple[str, ...]

    def answer(self) -> dict[str, Any]:
        """The contract's answer; amounts are estimates, money per metre."""
        unknown = _row(defaultdict(lambda: None), self.by)  # its columns are those of any kind
        return {
            "as_of": self.as_of,
            "by": [d.name for d in self.by],
            "months": self.months,
            "level": self.level,
            "margin": self.margin,
            "currency": self.currency,
            "said": list(self.said),
            "rows": Rows((_row(row, self.by) for row in self.rows.to_dicts()), unknown),
            "overall": next((_row(row, ()) for row in self.overall.to_dicts()), None),
        }


@dataclass(frozen=True, eq=False)
class BookBasis:
    """What a price book is made from: done cracks with their job's terms, and what they rest on.

    ``leak_back`` is what one of ``leak_backs`` costs at ``rates``; ``missing`` says why none has a cost.
    """

    cracks: pl.DataFrame
    left_out: int
    model: HazardModel | None
    leak_backs: pl.DataFrame
    leak_back: LeakBackCost | None
    rates: RatesInForce
    prices: Prices
    said: tuple[str, ...]
    missing: str


def prices(
    records: Records,
    by: Sequence[str] = BY,
    *,
    months: int = MONTHS,
    margin: Decimal | None = None,
    level: float = USUAL_LEVEL,
    scenario: Scenario = AS_IT_IS,
) -> PriceBook:
    """The price book of the work of the last ``months``, at today's rates or as a scenario has them.

    ``margin`` in place of the policy's; a rate that is missing is said, and there are no rows.
    """
    asked = scenario.aiming_at(margin)
    return book(records, basis(records, months), by, months=months, level=level, scenario=asked)


def _with_terms(records: Records, done: pl.DataFrame) -> pl.DataFrame:
    """The ``done`` cracks with what their job was sold for and shares over its cracks."""
    return done.join(records.ask("job_terms"), on="job_id", how="left")


def _costable(cracks: pl.DataFrame) -> pl.DataFrame:
    """Those whose cost can be worked out."""
    return cracks.filter(pl.all_horizontal(pl.col(NEEDED).is_not_null()))


def costs_of(records: Records, done: pl.DataFrame) -> pl.DataFrame:
    """What each ``done`` crack of which that is known cost before leak-backs, at the rates in force: job_id, direct.

    LeakbackError where a rate that it takes is missing.
    """
    rates, prices = RatesInForce.of(records.ask("current_rates")), records.policy.prices
    cracks = _costable(_with_terms(records, done))
    need_rates(rates, cracks, prices)
    return with_costs(cracks.with_columns(**rate_columns(rates)), prices).select("job_id", "direct")


@remembered
def basis(records: Records, months: int) -> BookBasis:
    """The done cracks of the last ``months`` whose cost is known, and what prices rest on."""
    require_months(months)
    known = experience.basis(records)
    done = records.ask("follow_up", read=READ)
    if records.as_of is not None:
        done = done.filter(age_days(records.as_of) <= horizon_days(months))
    cracks = _with_terms(records, done)
    recorded = _costable(cracks)
    no_cost = "" if known.leak_back else "Leak-backs are not in the floor: none of them has its labour recorded."
    risks = () if recorded.is_empty() else (one_rate(known.model), not_kept_up(known.model))
    return BookBasis(
        recorded,
        cracks.height - recorded.height,
        known.model,
        records.ask("leak_back_costs"),
        known.leak_back,
        known.rates,
        records.policy.prices,
        tuple(text for text in (known.no_model or no_cost, *currencies.left_out(records), *risks) if text),
        what_is_missing(cracks) if recorded.is_empty() else "",
    )


def book(
    records: Records, known: BookBasis, by: Sequence[str], *, months: int, level: float, scenario: Scenario
) -> PriceBook:
    """The price book of ``known`` under a scenario."""
    require_level(level)
    groupings = dimensions(by)
    own = scenario.prices(known.prices)
    unset = (NO_MARGIN if own.margin is None else "", NO_SEAL if own.seal_kg_per_litre is None else "")
    said = (*known.said, *(text for text in unset if text))
    none, currency = pl.DataFrame(), known.rates.currency
    empty = PriceBook(records.as_of, groupings, months, level, own.margin, currency, none, none, 0, said)
    if known.cracks.is_empty():
        return replace(empty, said=(known.missing, *said))
    try:
        costed = _costed(records, known, scenario)
    except LeakbackError as wrong:
        return replace(empty, said=(f"No prices: {wrong}.",))
    overall = _overall(records, known, costed, own.margin, level)
    rows = _priced(costed, groupings, known.model, own.margin, level) if groupings else overall
    return replace(empty, rows=rows, overall=overall, left_out=known.left_out + costed.left_out)


@dataclass(frozen=True, eq=False)
class _Costed:
    """Cracks with their costs and charges, how many are ``left_out`` for want of a charge that others have.

    ``error`` is the relative variance of what a leak-back costs.
    """

    cracks: pl.DataFrame
    left_out: int
    error: float


@remembered
def _costed(records: Records, known: BookBasis, scenario: Scenario) -> _Costed:
    """The cracks at a scenario's rates: one set throughout, so that costs and charges compare."""
    rates = scenario.rates(known.rates)
    need_rates(rates, known.cracks, known.prices)
    cracks = known.cracks.with_columns(prepared=pl.lit(value=False), **rate_columns(rates))
    if scenario.warranty_months is not None:
        cracks = cracks.with_columns(warranty_months=pl.lit(scenario.warranty_months, pl.Int64))
    if scenario.prep:
        cracks = with_prep(cracks, _flagged(records, known), records.policy, rates)
    cost = known.leak_back if rates == known.rates else leak_back_cost(known.leak_backs, rates)
    expected = np.zeros(cracks.height) if known.model is None else leak_backs(known.model, cracks)
    each = 0.0 if cost is None else float(cost.mean)
    costed = with_charge(with_costs(cracks.with_columns(leak_back=pl.Series(expected * each)), known.prices))
    sold = costed.filter(pl.col("charged").is_not_null())
    if sold.is_empty():
        return _Costed(costed, 0, _relative_variance(cost))
    return _Costed(sold, costed.height - sold.height, _relative_variance(cost))


@remembered
def _overall(records: Records, known: BookBasis, costed: _Costed, margin: Decimal | None, level: float) -> pl.DataFrame:
    """The one row of all cracks, whatever kinds they are told apart by."""
    del records
    return _priced(costed, (), known.model, margin, level)


def _priced(
    costed: _Costed, kinds: Sequence[Dimension], model: HazardModel | None, margin: Decimal | None, level: float
) -> pl.DataFrame:
    ahead = _ahead(model, costed.cracks) if model else None
    return price_book(costed.cracks, kinds, margin, level, _error(ahead, costed.cracks, kinds, costed.error))


def _flagged(records: Records, known: BookBasis) -> list[str]:
    """The cracks that would be flagged for extra prep were they planned today."""
    columns = records.ask("planned_cracks").clear()
    planned = pl.concat([columns, known.cracks], how="diagonal_relaxed").select(columns.columns)
    unasked = planned.with_columns(site_leak_backs=pl.lit(0, pl.Int64))
    prep = PrepValue.of(records.policy, known.rates, known.leak_back)
    flags = flagging.flag(records, unasked, known.model, prep)
    return [flag.crack_id for flag in flags if flag.action == EXTRA_PREP]


def _relative_variance(cost: LeakBackCost | None) -> float:
    """Of the mean cost of a leak-back; 0 where it is not known."""
    if cost is None or cost.error is None or cost.mean == 0:
        return 0.0
    return (cost.error / float(cost.mean)) ** 2


def _ahead(model: HazardModel, costed: pl.DataFrame) -> Ahead:
    """The cracks over their warranties."""
    days = warranty_days(costed["warranty_months"], model.oldest_days).to_numpy()
    return Ahead(model, costed, np.zeros(costed.height), days)


def _error(ahead: Ahead | None, costed: pl.DataFrame, kinds: Sequence[Dimension], cost_error: float) -> pl.DataFrame:
    """The relative variance of each kind's leak-back cost: the hazards' and the mean cost's."""
    keys = [d.name for d in kinds] or ["all"]
    places = segmented(costed, kinds).select(keys)
    found = places.unique(maintain_order=True).with_row_index("place")
    if ahead is None:
        return found.drop("place").with_columns(relative_variance=pl.lit(0.0))
    place = places.join(found, on=keys, how="left", maintain_order="left")["place"].to_numpy().astype(np.int64)
    variance = np.diag(ahead.by_group(place, found.height).covariance)
    return found.drop("place").with_columns(relative_variance=pl.Series(variance + cost_error))


def _row(row: Mapping[str, Any], by: Sequence[Dimension]) -> dict[str, Any]:
    """One kind as the contract has it: ``low`` and ``high`` are the floor's."""

    def told(name: str) -> dict[str, float | None]:
        ends = (row[f"{name}_per_metre"], row[f"{name}_low"], row[f"{name}_high"])
        return {key: steady(value) for key, value in zip(("value", "low", "high"), ends, strict=True)}

    amounts = ("cost", "leak_back_cost", "floor", "target", "charged")
    return {
        **{d.name: row[d.name] for d in by},
        "cracks": row["cracks"],
        "jobs": row["jobs"],
        "metres": steady(row["metres"]),
        **{f"{name}_per_metre": steady(row[f"{name}_per_metre"]) for name in amounts},
        "low": steady(row["floor_low"]),
        "high": steady(row["floor_high"]),
        "left_per_metre": steady(row["left_per_metre"]),
        "below_floor": row["below"],
        "parts": {name: told(name) for name in ("material", *PARTS, *amounts, "left")},
        "note": row["note"],
    }

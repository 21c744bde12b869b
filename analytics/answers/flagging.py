"""Which planned cracks need an engineer first, a measurement first, or extra prep, and why."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics import risk
from analytics.answers.modelling import current, one_rate
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.contract.bounds import USUAL_LEVEL, require_level, require_months
from analytics.contract.rows import Rows
from analytics.decisions.costs import RatesInForce, leak_back_cost, warranty_days
from analytics.decisions.lapsing import measured_otherwise, measured_since
from analytics.decisions.prep import PrepValue
from analytics.decisions.triage import Flag, triage
from analytics.risk import STEPS, HazardModel

ENGINEER, STANDARD = "engineer_review", "standard"
ROW: Mapping[str, Callable[[Flag], object]] = {
    "job_id": lambda flag: flag.job_id,
    "crack_id": lambda flag: flag.crack_id,
    "action": lambda flag: flag.action,
    "needs": lambda flag: flag.needs,
    "risk": lambda flag: flag.risk,
    "low": lambda flag: flag.low,
    "high": lambda flag: flag.high,
    "reasons": lambda flag: [
        {"rule": r.rule, "text": r.text, "do": r.do, "source": r.source, "cleared": r.cleared} for r in flag.reasons
    ],
    "notes": lambda flag: [{"rule": r.rule, "text": r.text, "source": r.source} for r in flag.notes],
}
"""A row of the answer: each column, and what stands in it."""


@dataclass(frozen=True)
class Flags:
    """The flags of every planned crack, most pressing first, with the facts they rest on.

    ``planned``: one row a crack, as asked of the store. ``said``: how the risks were come by, or why there are none.
    """

    as_of: date | None
    months: int
    level: float
    flags: Sequence[Flag]
    planned: pl.DataFrame
    said: str
    model: HazardModel | None

    @property
    def risks_said(self) -> str:
        """What is to be known of the risks of all these cracks."""
        return " ".join(filter(None, (self.said, one_rate(self.model) if self.flags else "")))

    def answer(self, *, everything: bool = False) -> dict[str, object]:
        """The contract's answer; without ``everything`` the standard ones are left out."""
        shown = (flag for flag in self.flags if everything or flag.action != STANDARD)
        rows = Rows.each(shown, ROW)
        return {"as_of": self.as_of, "months": self.months, "level": self.level, "said": self.risks_said, "rows": rows}


@remembered
def flags(records: Records, *, months: int = 24, level: float = USUAL_LEVEL) -> Flags:
    """Triage every planned crack, by the rules alone where there is too little history for risks.

    Raises:
        LeakbackError: for months or a level that are none, whether or not there are risks.
    """
    require_months(months)
    require_level(level)
    planned = records.ask("planned_cracks")
    modelled = current(records)
    found = flag(records, planned, modelled.model, _prep_value(records), months=months, level=level)
    return Flags(records.as_of, months, level, found, planned, modelled.said, modelled.model)


def engineer_first(records: Records, job_id: str) -> list[Flag]:
    """The flags of a planned job's cracks that an engineer looks at first; by the rules alone, without the model."""
    planned = records.ask("planned_cracks").filter(pl.col("job_id") == job_id)
    return [each for each in flag(records, planned, None, None) if each.action == ENGINEER]


def not_to_inject(records: Records, planned: pl.DataFrame) -> list[str]:
    """Which of these planned cracks, every one of a job, are not ones to inject; by the rules alone, as for a price."""
    return [each.crack_id for each in flag(records, planned, None, None) if each.unpriced]


def unanswered(flags: Iterable[Flag]) -> list[Flag]:
    """The flags of cracks that wait for an engineer: none has answered."""
    return [each for each in flags if each.needs == ENGINEER]


def flag(
    records: Records,
    planned: pl.DataFrame,
    model: HazardModel | None,
    prep: PrepValue | None,
    *,
    months: int = 24,
    level: float = USUAL_LEVEL,
) -> list[Flag]:
    """A flag for each of these cracks (as in ``planned_cracks``), most pressing first; without a model no risks."""
    risks = None if model is None else _risks(model, planned, months, level)
    return triage(planned, records.policy, risks, prep, _measured_since(records, planned))


def _measured_since(records: Records, planned: pl.DataFrame) -> dict[str, str]:
    """What is measured otherwise than the engineer decided on, by crack; asked only where there is a decision.

    In the records it was measured anew since; a file may hold another measurement than the records do.
    """
    if planned["decision"].is_null().all():
        return {}
    of_a_file = measured_otherwise(planned, records.ask("referred_cracks"))
    return of_a_file | measured_since(records.ask("measured_since"))


def _risks(model: HazardModel, planned: pl.DataFrame, months: int, level: float) -> pl.DataFrame:
    """Each planned crack's risk as its crew works; over its warranty, that and the risk with every prep step done."""
    prepared = planned.with_columns(pl.lit(value=True).alias(step) for step in STEPS)
    return risk.risk(model, planned, months, level).with_columns(
        warranty_risk=_over_warranty(model, planned), warranty_risk_with_prep=_over_warranty(model, prepared, STEPS)
    )


def _over_warranty(model: HazardModel, cracks: pl.DataFrame, promised: Collection[str] = ()) -> pl.Series:
    """The chance that each crack leaks back under its warranty."""
    days = warranty_days(cracks["warranty_months"], model.oldest_days)
    return pl.Series(risk.chance(risk.log_cumulative(model, cracks, 0.0, days.to_numpy(), promised)))


def _prep_value(records: Records) -> PrepValue | None:
    """What a leak-back has cost this business, and what extra prep costs it; None where a rate is missing."""
    rates = RatesInForce.of(records.ask("current_rates"))
    return PrepValue.of(records.policy, rates, leak_back_cost(records.ask("leak_back_costs"), rates))

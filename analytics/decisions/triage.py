"""Which planned cracks need an engineer first, a measurement first, or extra prep, and every reason why.

The measurements and an engineer's recorded decision alone settle whether an engineer looks first: no risk, however
low, takes that away.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

import polars as pl

from analytics.contract.policy import PUBLISHED, Policy, Thresholds
from analytics.contract.rules import ACTIONS, DECIDED_OTHERWISE, DO_NOT_INJECT, FOR_INJECTION, RULES, Action
from analytics.decisions.conditions import CONDITIONS, PlannedCrack, each_crack
from analytics.decisions.prep import PrepValue, Risk, prep_pays
from analytics.decisions.reasons import Reason, filled, let_through, reason


@dataclass(frozen=True, slots=True)
class Flag:
    """What happens before a planned crack is injected.

    ``action`` is the highest-ranking one of the reasons that stand; ``reasons`` holds all of them, and last the
    engineer's that were cleared. ``risk``, ``low`` and ``high`` are shares, None where not known. ``notes`` inform
    and lead to nothing.
    """

    job_id: str
    crack_id: str
    action: Action
    risk: float | None
    low: float | None
    high: float | None
    reasons: tuple[Reason, ...]
    notes: tuple[Reason, ...] = ()

    @property
    def declined(self) -> bool:
        """Whether an engineer has decided that it is not injected."""
        return any(each.rule == DECIDED_OTHERWISE for each in self.reasons)

    @property
    def needs(self) -> str:
        """What every list and sheet says is needed: the action, or not to inject what is not one to inject.

        Where an engineer is still waited for, that comes first.
        """
        waits = self.action == "engineer_review" and not self.declined
        return DO_NOT_INJECT if self.unpriced and not waits else self.action

    @property
    def injectable(self) -> bool:
        """Whether it may be injected as planned: nobody looks at it or measures it first."""
        return self.needs in FOR_INJECTION

    @property
    def unpriced(self) -> str:
        """Why the crack is not one to inject, so that it has no price for that; empty where no reason says so."""
        return next((each.text for each in self.reasons if not each.cleared and not RULES[each.rule].priced), "")


def triage(
    planned_cracks: pl.DataFrame,
    policy: Policy,
    risks: pl.DataFrame | None = None,
    prep: PrepValue | None = None,
    measured_since: Mapping[str, str] = MappingProxyType({}),
) -> list[Flag]:
    """A flag for each planned crack, by rank of action, then highest risk, then day, job and crack.

    ``planned_cracks``: one row a crack of the planned jobs, all cracks of a job together. ``risks``: crack_id, risk,
    low, high, warranty_risk, warranty_risk_with_prep. ``prep``: what a leak-back and prep cost; without it, or with a
    part unknown, the rule that weighs them is silent. ``measured_since``: by crack, what was measured otherwise since
    the engineer decided.
    """
    known = _by_crack(risks)
    cracks = list(each_crack(planned_cracks, policy.thresholds))
    own = policy.thresholds != PUBLISHED.thresholds
    published = each_crack(planned_cracks, PUBLISHED.thresholds) if own else cracks
    flags = [
        _flag(crack, same, policy, known.get(crack.crack_id, Risk()), prep, measured_since.get(crack.crack_id, ""))
        for crack, same in zip(cracks, published, strict=True)
    ]
    days = dict(planned_cracks.select("crack_id", "planned_on").iter_rows())
    return sorted(flags, key=lambda flag: _rank(flag, days[flag.crack_id]))


def _rank(flag: Flag, planned_on: date | None) -> tuple[int, float, date, str, str]:
    return ACTIONS.index(flag.action), -(flag.risk or 0.0), planned_on or date.max, flag.job_id, flag.crack_id


def _by_crack(risks: pl.DataFrame | None) -> dict[str, Risk]:
    if risks is None:
        return {}
    shares = pl.col("risk", "low", "high", "warranty_risk", "warranty_risk_with_prep").cast(pl.Float64).fill_nan(None)
    rows = risks.select("crack_id", shares).iter_rows()
    return {crack_id: Risk(*row) for crack_id, *row in rows}


def _flag(
    crack: PlannedCrack, same: PlannedCrack, policy: Policy, risk: Risk, prep: PrepValue | None, measured_since: str
) -> Flag:
    """The flag of one crack; ``same`` is the crack as counted under the published thresholds."""
    holding = _holding(crack, policy.thresholds)
    reasons = [reason(rule_id, crack, policy, measured_since) for rule_id in holding]
    pays = prep_pays(risk, prep)
    reasons += [filled("prep_pays", pays)] if pays else []
    said = _not_said_twice(reasons)
    standing = [each for each in said if not each.cleared and each.action != "note"]
    past = [let_through(rule_id, same, policy) for rule_id in _let_through(same, holding, policy)]
    return Flag(
        crack.job_id,
        crack.crack_id,
        min((each.action for each in standing), key=ACTIONS.index, default="standard"),
        risk.risk,
        risk.low,
        risk.high,
        reasons=(*sorted(standing, key=lambda each: ACTIONS.index(each.action)), *(r for r in said if r.cleared)),
        notes=(*(each for each in said if each.action == "note"), *past),
    )


def _holding(crack: PlannedCrack, limits: Thresholds) -> list[str]:
    return [rule_id for rule_id, holds in CONDITIONS.items() if holds(crack, limits)]


def _let_through(crack: PlannedCrack, holding: list[str], policy: Policy) -> list[str]:
    """The rules that hold under the published thresholds and not under the policy's."""
    if policy.thresholds == PUBLISHED.thresholds:
        return []
    return [rule_id for rule_id in _holding(crack, PUBLISHED.thresholds) if rule_id not in holding]


def _not_said_twice(reasons: list[Reason]) -> list[Reason]:
    """Leave out a reason that another, standing one says more strongly."""
    standing = {each.rule for each in reasons if not each.cleared}
    return [each for each in reasons if RULES[each.rule].unless not in standing]

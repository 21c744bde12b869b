"""Whether extra prep pays on a crack, by the business's own numbers."""

from dataclasses import dataclass
from decimal import Decimal

from analytics.contract.policy import Policy
from analytics.decisions.costs import LeakBackCost, RatesInForce, exact, worked


@dataclass(frozen=True, slots=True)
class PrepValue:
    """What a leak-back costs, over how many of the business's own it was counted, and what prep on one crack costs.

    Amounts in the currency of the rates, None where not known.
    """

    leak_back_cost: Decimal | None
    leak_backs_counted: int
    prep_cost: Decimal | None

    @classmethod
    def of(cls, policy: Policy, rates: RatesInForce, leak_back: LeakBackCost | None) -> "PrepValue | None":
        """By the day's rates and what leak-backs have cost; None where that is not known."""
        if leak_back is None:
            return None
        prep = prep_cost(policy, rates.need("labour_hour"))
        return cls(leak_back.mean, leak_back.count, prep)


@dataclass(frozen=True, slots=True)
class Risk:
    """A planned crack's risk of a leak-back (share, 0 to 1) with its interval, by the age it is asked at.

    And ``warranty_risk``, over its warranty, as its crew works and with every prep step: what the business pays for.
    """

    risk: float | None = None
    low: float | None = None
    high: float | None = None
    warranty_risk: float | None = None
    warranty_risk_with_prep: float | None = None


def prep_cost(policy: Policy, labour_hour: Decimal | None) -> Decimal | None:
    """What extra prep on one crack costs: minutes at the hourly rate and material; None unless all are known."""
    minutes, material = policy.prep.minutes_per_crack, policy.prep.material_per_crack
    if minutes is None or material is None or labour_hour is None:
        return None
    return worked(exact(minutes), labour_hour) + material


def prep_pays(risk: Risk, value: PrepValue | None) -> dict[str, str] | None:
    """The figures of the sentence where the risk prep removes costs more than prep; None where not, or not known.

    No amount of money among them: the reason stands on the sheet that a crew takes into a customer's house.
    """
    if value is None or value.leak_back_cost is None or value.prep_cost is None or value.leak_backs_counted < 1:
        return None
    if risk.warranty_risk is None or risk.warranty_risk_with_prep is None:
        return None
    worth = value.leak_back_cost * exact(risk.warranty_risk - risk.warranty_risk_with_prep)
    if worth <= value.prep_cost:
        return None
    return {
        "warranty_risk": f"{100 * risk.warranty_risk:.1f} %",
        "warranty_risk_with_prep": f"{100 * risk.warranty_risk_with_prep:.1f} %",
        "share": f"{int(100 * value.prep_cost / worth)} %",
        "leak_backs_counted": str(value.leak_backs_counted),
    }

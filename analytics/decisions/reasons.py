"""Why a crack is flagged: a rule, filled in with the crack's figures, as a sentence with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from analytics.contract.policy import PUBLISHED, Policy, policy_differs
from analytics.contract.rules import RULES, THRESHOLDS, Action, figure
from analytics.contract.words import full_day
from analytics.decisions.conditions import PlannedCrack, epoxy_class, missing

DECISION_WORDS = {
    "inject": "inject",
    "repair_otherwise": "repair it another way",
    "monitor": "watch it",
    "do_nothing": "do nothing",
}
ASK_AGAIN = "Ask the engineer again and record the new decision: the one there is was made on other measurements."


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that holds for a crack: the sentence, its source, what it leads to and what to do.

    ``cleared`` where an engineer has decided that the crack may be injected all the same.
    """

    rule: str
    text: str
    source: str
    action: Action
    do: str
    cleared: bool = False


def reason(rule_id: str, crack: PlannedCrack, policy: Policy, measured_since: str = "") -> Reason:
    """The rule as a sentence about this crack; where the policy has its own threshold it gives the published one too.

    An engineer's rule is cleared where the engineer decided to inject, and says so; ``measured_since`` tells what was
    measured otherwise after that, and then the decision holds no more.
    """
    rule, text = RULES[rule_id], _sentence(rule_id, crack, policy, policy)
    if rule.action != "engineer_review" or crack.decision != "inject":
        return Reason(rule_id, text, rule.source, rule.action, rule.do)
    text += f": engineer decided to inject{_on(crack.decided_on)}{_ref(crack.reference)}"
    if measured_since:
        return Reason(rule_id, f"{text}, on other measurements: {measured_since}", rule.source, rule.action, ASK_AGAIN)
    return Reason(rule_id, text, rule.source, rule.action, "Nothing more: the engineer has decided.", cleared=True)


def filled(rule_id: str, figures: Mapping[str, str]) -> Reason:
    """The rule as a sentence with the given figures."""
    rule = RULES[rule_id]
    return Reason(rule_id, rule.text.format_map(figures), rule.source, rule.action, rule.do)


def let_through(rule_id: str, crack: PlannedCrack, policy: Policy) -> Reason:
    """A note that the crack is past the published threshold and only the business's own lets it through.

    ``crack`` is as counted under the published thresholds.
    """
    text = f"past the published threshold, let through by your own: {_sentence(rule_id, crack, PUBLISHED, policy)}"
    do = "Look at it once more: the published threshold would flag it."
    return Reason(rule_id, text, RULES[rule_id].source, "note", do)


def _sentence(rule_id: str, crack: PlannedCrack, judged_by: Policy, policy: Policy) -> str:
    rule = RULES[rule_id]
    limits = {name: THRESHOLDS[name].said(judged_by.thresholds.value(name)) for name in rule.thresholds}
    figures = _Figures(crack, limit=limits, epoxy_class=epoxy_class(crack, judged_by.thresholds))
    text = rule.text.format_map(figures)
    differs = policy_differs(policy, rule)
    return f"{text} ({differs})" if differs else text


class _Figures(dict[str, object]):
    """What a sentence may name: what is handed in, and every figure of the crack, written when asked for."""

    def __init__(self, crack: PlannedCrack, **more: object) -> None:
        super().__init__(more)
        self.crack = crack

    def __missing__(self, name: str) -> str:
        crack = self.crack
        match name:
            case "missing":
                return ", ".join(missing(crack))
            case "decision":
                return DECISION_WORDS[crack.decision or ""]
            case "decided":
                return _on(crack.decided_on)
            case "reference":
                return _ref(crack.reference)
            case _:
                return _written(getattr(crack, name))


def _written(value: object) -> str:
    if isinstance(value, int | float):
        return figure(value)
    if isinstance(value, date):
        return full_day(value)
    return "" if value is None else str(value)


def _on(day: date | None) -> str:
    return f" on {full_day(day)}" if day else ""


def _ref(reference: str | None) -> str:
    return f" (ref {reference})" if reference else ""

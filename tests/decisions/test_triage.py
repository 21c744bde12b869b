"""Triage: what an engineer's decision, a risk and a policy may change."""

from datetime import date
from decimal import Decimal
from typing import Any

import polars as pl
import pytest

from analytics.contract.policy import PUBLISHED, Policy, Prep, Thresholds
from analytics.decisions.prep import PrepValue, prep_cost
from analytics.decisions.triage import triage
from tests.decisions.planned import ASKED, INJECT, LOOSER, MONITOR, PREP, RISKS, frame, one, rules, text


def test_a_decision_to_inject_clears_the_engineers_reasons_and_keeps_them_listed() -> None:
    flag = one({"offset_mm": 4.0, "wall_temp_c": 8.0, **INJECT})
    assert flag.action == "extra_prep"
    assert rules(flag) == ["any_offset", "cold_wall", "offset"]
    assert flag.reasons[-1].cleared
    assert flag.reasons[-1].text.endswith(": engineer decided to inject on 9 March 2025 (ref L-12)")
    assert one({"direction": "horizontal", **INJECT}).action == "standard"
    assert one({"direction": "horizontal", "length_m": None, **INJECT}).action == "measure_first"
    assert "(ref" not in text(one({"direction": "horizontal", **INJECT, "reference": None}), "horizontal")


@pytest.mark.parametrize(
    ("decision", "words"),
    [("repair_otherwise", "repair it another way"), ("monitor", "watch it"), ("do_nothing", "do nothing")],
)
def test_any_other_decision_keeps_the_engineer_first(decision: str, words: str) -> None:
    for change in ({}, {"direction": "horizontal"}):
        flag = one({**change, **MONITOR, "decision": decision})
        assert (flag.action, flag.needs) == ("engineer_review", "do_not_inject")
        assert not any(reason.cleared for reason in flag.reasons)
        said = text(flag, "engineer_decided")
        assert said == f"the engineer decided on 9 March 2025: {words}; do not inject (ref L-12)"


@pytest.mark.parametrize(
    ("change", "action", "needs"),
    [
        ({}, "extra_prep", "do_not_inject"),
        ({"wall_temp_c": 5.0}, "extra_prep", "do_not_inject"),
        ({"length_m": None}, "measure_first", "do_not_inject"),
        ({"direction": "horizontal"}, "engineer_review", "engineer_review"),
        ({"direction": "horizontal", **MONITOR}, "engineer_review", "do_not_inject"),
        ({"direction": "horizontal", **INJECT}, "extra_prep", "do_not_inject"),
    ],
)
def test_too_narrow_to_inject_is_not_injected_and_its_action_stays(
    change: dict[str, Any], action: str, needs: str
) -> None:
    flag = one({"width_mm": 0.03, **change})
    assert (flag.action, flag.needs) == (action, needs)
    assert flag.declined == (change.get("decision") == "monitor")


def test_asked_and_not_decided_waits() -> None:
    flag = one({"direction": "horizontal", **ASKED})
    assert flag.action == flag.needs == "engineer_review"
    assert text(flag, "engineer_asked") == "waiting for the engineer since 1 March 2025"


RISK = {"risk": 0.2, "low": 0.1, "high": 0.3, "warranty_risk": 0.25, "warranty_risk_with_prep": 0.125}


@pytest.mark.parametrize(
    ("cost", "pays"),
    [("74.99", True), ("75.00", False), ("75.01", False)],  # 600 × (0.25 − 0.125) = 75, arithmetic
)
def test_prep_pays_only_above_its_cost(cost: str, pays: bool) -> None:
    flag = one({}, risk=RISK, prep=PrepValue(Decimal(600), 14, Decimal(cost)))
    assert (rules(flag) == ["prep_pays"]) == pays
    assert flag.action == ("extra_prep" if pays else "standard")


def test_the_sentence_of_prep_gives_shares_and_no_amount_of_money() -> None:
    assert text(one({}, risk=RISK, prep=PREP), "prep_pays") == (
        "prep would take the risk of a leak-back under warranty from 25.0 % to 12.5 %; it costs 80 % of what that "
        "saves, by what 14 of your own leak-backs cost"
    )


def test_prep_that_pays_by_a_cent_is_not_said_to_cost_all_it_saves() -> None:
    dear = PrepValue(Decimal(600), 14, Decimal("74.99"))
    assert "it costs 99 % of what that saves" in text(one({}, risk=RISK, prep=dear), "prep_pays")


@pytest.mark.parametrize(
    ("risk", "prep"),
    [
        (RISK, None),
        (RISK, PrepValue(None, 14, Decimal(1))),
        (RISK, PrepValue(Decimal(600), 14, None)),
        (RISK, PrepValue(Decimal(600), 0, Decimal(1))),
        (None, PREP),
        ({**RISK, "warranty_risk_with_prep": None}, PREP),
        ({**RISK, "warranty_risk": float("nan")}, PREP),
        ({**RISK, "warranty_risk_with_prep": 0.4}, PREP),
    ],
)
def test_prep_is_silent_where_anything_is_unknown_or_worse(risk: dict[str, Any] | None, prep: PrepValue | None) -> None:
    assert one({}, risk=risk, prep=prep).action == "standard"


def test_prep_cost_needs_minutes_material_and_an_hourly_rate() -> None:
    both = Policy(prep=Prep(minutes_per_crack=30, material_per_crack=Decimal("7.50")))
    assert prep_cost(both, Decimal(50)) == Decimal("32.50")  # 30 / 60 × 50 + 7.50, arithmetic
    assert prep_cost(both, None) is None
    assert prep_cost(PUBLISHED, Decimal(50)) is None
    assert prep_cost(Policy(prep=Prep(minutes_per_crack=30)), Decimal(50)) is None


def test_the_risk_is_carried_with_its_interval() -> None:
    flag = one({}, risk=RISK)
    assert (flag.risk, flag.low, flag.high) == (0.2, 0.1, 0.3)


def test_a_threshold_of_ones_own_is_said_beside_the_published_one() -> None:
    assert text(one({"offset_mm": 7.0}, LOOSER), "offset") == (
        "one face is 7 mm out of plane with the other; an engineer looks first from 6 mm on "
        "(your policy: 6 mm; published: 3.2 mm)"
    )


def test_what_only_a_looser_policy_lets_through_is_noted() -> None:
    flag = one({"offset_mm": 4.0}, LOOSER)
    assert flag.action == "extra_prep"
    assert [reason.rule for reason in flag.reasons] == ["any_offset"]
    (note,) = flag.notes
    assert (note.rule, note.action) == ("offset", "note")
    assert note.text.endswith("an engineer looks first from 3.2 mm (1/8 in) on (your policy: 6 mm; published: 3.2 mm)")
    several = triage(frame({"width_mm": 3.1}, {"width_mm": 3.1}, {"width_mm": 3.1}), LOOSER)
    assert {flag.action for flag in several} == {"standard"}
    assert text(several[0], "several").endswith(
        "this job has 3 cracks of 3 mm or wider; an engineer looks first from 3 cracks on "
        "(your policy: 4 mm; published: 3 mm)"
    )


def test_a_stricter_policy_flags_more_and_notes_nothing() -> None:
    flag = one({"width_mm": 4.0}, Policy(thresholds=Thresholds(wide_mm=4)))
    assert flag.action == "engineer_review"
    assert flag.notes == ()


def test_flags_come_by_rank_then_risk_then_name() -> None:
    planned = frame({}, {"wall_temp_c": 5.0}, {"wall_temp_c": 5.0}, {"direction": "stepped"}, {"length_m": None}, {})
    risks = pl.DataFrame([{"crack_id": "C3", **RISK}, {"crack_id": "C6", **RISK}], schema=RISKS)
    assert [flag.crack_id for flag in triage(planned, PUBLISHED, risks)] == ["C4", "C5", "C3", "C2", "C6", "C1"]


def test_of_one_rank_and_risk_the_earliest_day_comes_first() -> None:
    days = (date(2026, 11, 9), date(2026, 11, 5), None, date(2026, 11, 6))
    planned = frame(*({"wall_temp_c": 5.0, "planned_on": day} for day in days))
    assert [flag.crack_id for flag in triage(planned, PUBLISHED)] == ["C2", "C4", "C1", "C3"]


def test_no_cracks_give_no_flags() -> None:
    assert triage(frame({}).clear(), PUBLISHED) == []


def test_ten_thousand_cracks_are_each_flagged_once() -> None:
    many = frame(*({"job_id": f"J{place // 3}", "width_mm": 0.01 + place % 700 / 100} for place in range(10_000)))
    flags = triage(many, LOOSER)
    assert len({flag.crack_id for flag in flags}) == len(flags) == len(many)

"""Each rule at, just under and just over its threshold, the source of the threshold beside it."""

from typing import Any

import pytest

from analytics.contract.policy import PUBLISHED
from analytics.contract.rules import RULES
from analytics.decisions.conditions import CONDITIONS
from analytics.decisions.triage import Flag, triage
from tests.decisions.planned import ASKED, INCH, INJECT, MONITOR, frame, one, rules, text

HOLDS: list[tuple[str, dict[str, Any]]] = [
    ("horizontal", {"direction": "horizontal"}),  # common practice, no source
    ("stepped", {"direction": "stepped"}),  # common practice, no source
    ("growing", {"movement": "growing"}),  # ACI 364.12T-15 and ACI 224.1R; quoted
    # 3.2 mm stands for 1/8 in: residential foundation practice; quoted
    ("offset", {"offset_mm": 3.2}),
    ("offset", {"offset_mm": 3.2001}),
    ("offset", {"offset_mm": INCH / 8}),
    # BRE Digest 251, exactly 5 mm read as category 3; quoted
    ("wide", {"width_mm": 5.0}),
    ("wide", {"width_mm": 5.001}),
    ("wide", {"width_mm": sum([0.1] * 50)}),  # 5 mm but for floating point
    ("wide", {"width_mm": 6.0}),  # Ontario construction performance guidelines, > 6 mm; quoted
    ("wide", {"width_mm": 6.3}),  # UFGS 03931 s. 3.8.5; read
    ("wide", {"width_mm": INCH / 4}),  # HUD NSPIRE foundation standard (2023), 1/4 in; quoted
    ("leaked_back_repeatedly", {"site_leak_backs": 2}),  # our own choice, no source
    ("leaked_back_repeatedly", {"site_leak_backs": 3}),
    ("leaked_back_before", {"site_leak_backs": 1}),  # common practice, no source
    # our own rule: never called standard while a key measurement is missing
    ("not_measured", {"direction": None}),
    ("not_measured", {"width_mm": None}),
    ("not_measured", {"offset_mm": None}),
    ("not_measured", {"length_m": None}),
    ("not_measured", {"width_mm": float("nan")}),
    # any offset: Ontario construction performance guidelines; quoted
    ("any_offset", {"offset_mm": 0.1}),
    ("any_offset", {"offset_mm": 3.17}),
    ("too_narrow", {"width_mm": 0.0499}),  # ACI 224.1R s. 3.2; quoted
    # TxDOT Concrete Repair Manual ch. 3 s. 5, 0.005 in; read
    ("hard_to_fill", {"width_mm": 0.1269}),
    ("hard_to_fill", {"width_mm": 0.05}),
    ("hard_to_fill", {"width_mm": 0.002 * INCH}),
    # 3.2 mm stands for 1/8 in: a trade journal; quoted
    ("wide_taper", {"width_mm": 3.2}),
    ("wide_taper", {"width_mm": INCH / 8}),
    # ACI 224.1R; Frigione et al. 2006; both quoted
    ("epoxy_on_wet", {"resin": "epoxy", "water": "damp"}),
    ("epoxy_on_wet", {"resin": "epoxy", "water": "seeping"}),
    ("epoxy_on_wet", {"resin": "epoxy", "water": "running"}),
    ("cold_wall", {"wall_temp_c": 9.99}),  # UFC 4-150-07 CR-1; read
    ("cold_wall", {"wall_temp_c": -5.0}),
    ("ports_too_far_apart", {"port_spacing_mm": 200.1}),  # TxDOT Concrete Repair Manual ch. 3 s. 5; read
    ("seasonal_with_epoxy", {"movement": "seasonal", "resin": "epoxy"}),  # ACI 364.12T-15; quoted
    ("engineer_asked", ASKED),
    ("engineer_decided", MONITOR),
    ("engineer_decided", {**MONITOR, "decision": "do_nothing"}),
    ("engineer_decided", {**MONITOR, "decision": "repair_otherwise"}),
    ("epoxy_class", {"resin": "epoxy"}),  # ASTM C881, metric edition; quoted and from memory
]

DOES_NOT_HOLD: list[tuple[str, dict[str, Any]]] = [
    ("horizontal", {"direction": "diagonal"}),
    ("stepped", {"direction": "vertical"}),
    ("growing", {"movement": "seasonal"}),
    ("growing", {"movement": None}),
    ("offset", {"offset_mm": 3.174}),
    ("any_offset", {"offset_mm": 0.0}),
    ("any_offset", {"offset_mm": 3.2}),
    ("wide", {"width_mm": 4.999}),
    ("wide", {"width_mm": 3 / 16 * INCH}),
    ("leaked_back_repeatedly", {"site_leak_backs": 1}),
    ("leaked_back_before", {"site_leak_backs": 0}),
    ("leaked_back_before", {"site_leak_backs": None}),
    ("leaked_back_before", {"site_leak_backs": 2}),
    ("not_measured", {"movement": None, "water": None, "resin": None, "wall_temp_c": None}),
    ("too_narrow", {"width_mm": 0.05}),
    ("too_narrow", {"width_mm": 0.002 * INCH}),
    ("hard_to_fill", {"width_mm": 0.127}),
    ("hard_to_fill", {"width_mm": 0.005 * INCH}),
    ("hard_to_fill", {"width_mm": 0.0499}),
    ("wide_taper", {"width_mm": 3.17}),
    ("epoxy_on_wet", {"resin": "epoxy", "water": "dry"}),
    ("epoxy_on_wet", {"resin": "urethane_foam", "water": "running"}),
    ("epoxy_on_wet", {"resin": None, "water": "running"}),
    ("cold_wall", {"wall_temp_c": 10.0}),
    ("cold_wall", {"wall_temp_c": (50 - 32) / 1.8}),
    ("cold_wall", {"wall_temp_c": None}),
    ("ports_too_far_apart", {"port_spacing_mm": 200.0}),
    ("ports_too_far_apart", {"port_spacing_mm": 8 * INCH, "wall_thickness_mm": 0.2032 * 1000}),
    ("ports_too_far_apart", {"port_spacing_mm": 900.0, "wall_thickness_mm": None}),
    ("seasonal_with_epoxy", {"movement": "seasonal"}),
    ("engineer_asked", MONITOR),
    ("engineer_decided", INJECT),
    ("epoxy_class", {"resin": "epoxy", "wall_temp_c": None}),
    ("epoxy_class", {"resin": "urethane_foam"}),
]

BY_TEST_OF_ITS_OWN = {"several", "prep_pays"}


def test_a_plain_crack_is_standard() -> None:
    assert one({}) == Flag("J1", "C1", "standard", None, None, None, reasons=(), notes=())


@pytest.mark.parametrize(("rule", "change"), HOLDS)
def test_the_rule_holds(rule: str, change: dict[str, Any]) -> None:
    flag = one(change)
    assert rule in rules(flag)
    declared = RULES[rule].action
    assert flag.action == ("standard" if declared == "note" else flag.reasons[0].action)
    assert declared in {"note", *(reason.action for reason in flag.reasons)}


@pytest.mark.parametrize(("rule", "change"), DOES_NOT_HOLD)
def test_the_rule_does_not_hold(rule: str, change: dict[str, Any]) -> None:
    assert rule not in rules(one(change))


def test_every_rule_is_tested_and_every_rule_is_judged() -> None:
    assert {rule for rule, _ in HOLDS} | BY_TEST_OF_ITS_OWN == set(RULES)
    assert {rule for rule, _ in DOES_NOT_HOLD} | BY_TEST_OF_ITS_OWN == set(RULES)
    assert [rule for rule in RULES if rule != "prep_pays"] == list(CONDITIONS)


def test_the_source_comes_with_every_reason() -> None:
    for _, change in HOLDS:
        flag = one(change)
        assert all(reason.source == RULES[reason.rule].source and reason.do for reason in (*flag.reasons, *flag.notes))


def test_sentences_give_figure_and_limit() -> None:
    assert (
        text(one({"offset_mm": 4.0}), "offset")
        == "one face is 4 mm out of plane with the other; an engineer looks first from 3.2 mm (1/8 in) on"
    )
    assert text(one({"width_mm": 5.0}), "wide") == "5 mm wide at its widest; an engineer looks first from 5 mm on"
    assert text(one({"wall_temp_c": 9.5}), "cold_wall") == "the wall is at 9.5 °C, under 10 °C (50 °F)"
    assert text(one({"width_mm": None, "length_m": None}), "not_measured") == "not recorded: width, length"
    assert text(one({"port_spacing_mm": 250.0}), "ports_too_far_apart") == (
        "ports are planned 250 mm apart in a wall 200 mm thick; no further than 1 × the wall's thickness"
    )
    assert "do not quote as injectable" in text(one({"width_mm": 0.04}), "too_narrow")


@pytest.mark.parametrize(
    ("widths", "flagged"),
    # BRE Digest 251, "several of, say, 3 mm", quoted; that several means three is our own choice
    [
        ([3.0, 3.0, 3.0], True),
        ([3.0, 3.0, 3.0, 0.3], True),
        ([INCH / 8] * 3, True),
        ([3.0, 3.0, 2.999], False),
        ([3.0, 3.0], False),
        ([3.0, 3.0, None], False),
    ],
)
def test_several_wide_cracks_flag_every_crack_of_their_job(widths: list[float | None], flagged: bool) -> None:
    elsewhere = [{"width_mm": 3.0, "job_id": "J2"}] * 2
    flags = triage(frame(*({"width_mm": width} for width in widths), *elsewhere), PUBLISHED)
    assert all(("several" in rules(flag)) == (flagged and flag.job_id == "J1") for flag in flags)
    if flagged:
        assert text(flags[0], "several") == (
            "this job has 3 cracks of 3 mm or wider; an engineer looks first from 3 cracks on"
        )


def test_all_reasons_are_shown_engineer_before_measure_before_prep() -> None:
    change = {"direction": "horizontal", "length_m": None, "wall_temp_c": 2.0, "width_mm": 5.5, "offset_mm": 1.0}
    flag = one(change)
    assert flag.action == "engineer_review"
    assert rules(flag) == ["horizontal", "wide", "not_measured", "any_offset", "wide_taper", "cold_wall"]
    assert one({"length_m": None, "wall_temp_c": 2.0}).action == "measure_first"
    assert one({"wall_temp_c": 2.0}).action == "extra_prep"


def test_what_can_be_judged_still_is_where_a_measurement_is_missing() -> None:
    flag = one({"width_mm": None, "offset_mm": 4.0})
    assert flag.action == "engineer_review"
    assert rules(flag) == ["offset", "not_measured"]


@pytest.mark.parametrize(
    ("temperature", "class_letter"),
    # ASTM C881, metric edition: A below 4 °C, B 4 to 15 °C, C above 15 °C; quoted and from memory
    [(3.99, "A"), (4.0, "B"), (15.0, "B"), (15.01, "C")],
)
def test_the_epoxy_class_informs_and_leads_to_nothing(temperature: float, class_letter: str) -> None:
    flag = one({"resin": "epoxy", "wall_temp_c": temperature})
    assert f"epoxy of class {class_letter} " in text(flag, "epoxy_class")
    assert [note.rule for note in flag.notes] == ["epoxy_class"]
    assert flag.action == ("extra_prep" if temperature < 10 else "standard")

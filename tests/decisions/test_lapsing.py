"""What was measured otherwise since a decision, in words, and what it does to a flag."""

from datetime import date

import polars as pl
import pytest

from analytics.contract.policy import PUBLISHED
from analytics.decisions.lapsing import RESTS_ON, measured_since
from analytics.decisions.triage import triage
from tests.decisions.planned import INJECT, MONITOR, frame

BEFORE = {
    "direction": "vertical",
    "width_mm": 0.5,
    "offset_mm": None,
    "length_m": 2.4,
    "movement": None,
    "water": "dry",
}


def changed(**now: object) -> pl.DataFrame:
    was = {f"was_{name}": value for name, value in BEFORE.items()}
    return pl.DataFrame([{"crack_id": "C1", "changed_on": date(2026, 11, 20), **was, **BEFORE, **now}])


@pytest.mark.parametrize(
    ("now", "words"),
    [
        ({"width_mm": 6.0}, "width 0.5 mm, now 6 mm"),
        ({"offset_mm": 4.0, "water": None}, "offset not recorded, now 4 mm; water dry, now not recorded"),
        ({"direction": "horizontal"}, "direction vertical, now horizontal"),
    ],
)
def test_each_change_is_said_with_both_figures_and_its_day(now: dict[str, object], words: str) -> None:
    assert measured_since(changed(**now)) == {"C1": f"{words} (since 20 November 2026)"}


def test_every_measurement_that_a_decision_rests_on_is_looked_at() -> None:
    assert set(BEFORE) == set(RESTS_ON)


def test_a_decision_on_other_measurements_clears_nothing() -> None:
    crack = frame({"direction": "horizontal", **INJECT}, {"direction": "horizontal", **INJECT})
    again, held = triage(crack, PUBLISHED, measured_since={"C1": "width 0.5 mm, now 6 mm (since 20 November 2026)"})
    assert (again.crack_id, again.action) == ("C1", "engineer_review")
    assert again.reasons[0].text == (
        "the crack is horizontal: engineer decided to inject on 9 March 2025 (ref L-12), "
        "on other measurements: width 0.5 mm, now 6 mm (since 20 November 2026)"
    )
    assert (held.crack_id, held.action) == ("C2", "standard")


NARROWER = "width 0.6 mm, now 0.4 mm (since 20 November 2026)"


def test_what_needs_no_engineer_needs_none_for_being_measured_anew() -> None:
    [flag] = triage(frame(INJECT), PUBLISHED, measured_since={"C1": NARROWER})
    assert flag.action == "standard"
    [kept] = triage(frame(MONITOR), PUBLISHED, measured_since={"C1": NARROWER})
    assert [reason.rule for reason in kept.reasons] == ["engineer_decided"]

"""An engineer's decision to inject holds for the measurements it was made on, and for no others."""

from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers import recording
from analytics.answers.flagging import flags
from analytics.answers.loading import Loaded, undo
from analytics.answers.records import Records
from analytics.contract.words import full_day
from analytics.decisions.triage import Flag
from analytics.store import Store
from tests.histories import CRACK, DONE_JOB

PLANNED = {"job_id": "J-2", "status": "planned", "planned_on": "2026-12-01"}
WIDE = {**CRACK, "crack_id": "J-2-1", "job_id": "J-2", "width_mm": 6, "offset_mm": 0, "direction": "vertical"}
DECIDED = {"asked_on": "2026-10-01", "decided_on": "2026-10-09", "decision": "inject", "reference": "E-14"}


@pytest.fixture
def store(load_tables: Callable[..., Loaded], store_path: Path) -> Path:
    load_tables({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, WIDE]})
    return store_path


def decided(store: Path, **otherwise: str) -> None:
    recording.record_decision(store, "J-2", "J-2-1", {**DECIDED, **otherwise})


def measured(store: Path, **typed: str) -> None:
    recording.change_crack(store, "J-2", "J-2-1", typed)


def flag(store: Path) -> Flag:
    return next(each for each in flags(Records.of(store)).flags if each.crack_id == "J-2-1")


def dated(store: Path, batch: int, day: str) -> None:
    with Store(store).connect(read_only=False) as connection:
        connection.execute("update loads set loaded_at = ?::timestamp where batch = ?", [day, batch])


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("width_mm", "8", "width 6 mm, now 8 mm"),
        ("offset_mm", "2", "offset 0 mm, now 2 mm"),
        ("length_m", "2.5", "length 2 m, now 2.5 m"),
        ("direction", "diagonal", "direction vertical, now diagonal"),
        ("movement", "seasonal", "movement not recorded, now seasonal"),
        ("water", "running", "water not recorded, now running"),
    ],
)
def test_a_crack_measured_otherwise_is_flagged_again(store: Path, column: str, value: str, words: str) -> None:
    decided(store)
    assert flag(store).action != "engineer_review"
    measured(store, **{column: value})
    found = flag(store)
    assert found.action == "engineer_review"
    [wide] = [reason for reason in found.reasons if reason.rule == "wide"]
    changed_on = Records.of(store).ask("measured_since")["changed_on"].item()
    assert wide.text.endswith(
        f"engineer decided to inject on 9 October 2026 (ref E-14), "
        f"on other measurements: {words} (since {full_day(changed_on)})"
    )
    assert not wide.cleared
    assert "Ask the engineer again" in wide.do


def test_a_new_decision_clears_it_again_and_so_does_taking_the_change_back(store: Path) -> None:
    today = str(Store(store).frame("select max(loaded_at)::date::varchar from loads").item())
    decided(store, asked_on=today, decided_on=today)
    measured(store, width_mm="8")
    undo(store)
    assert flag(store).action != "engineer_review"
    measured(store, width_mm="8")
    assert flag(store).action == "engineer_review"
    decided(store, asked_on=today, decided_on=today, reference="E-15")
    assert flag(store).action != "engineer_review"


def test_what_a_decision_does_not_rest_on_may_change_and_come_back(store: Path) -> None:
    decided(store)
    measured(store, port_spacing_mm="150")
    assert flag(store).action != "engineer_review"
    measured(store, width_mm="8")
    measured(store, width_mm="6")
    assert flag(store).action != "engineer_review"


@pytest.mark.parametrize(("measured_on", "holds"), [("2026-10-08", True), ("2026-10-20", False)])
def test_a_decision_recorded_late_counts_from_its_own_day(store: Path, measured_on: str, *, holds: bool) -> None:
    measured(store, width_mm="8")
    decided(store)
    dated(store, 1, "2026-09-01")
    dated(store, 2, measured_on)
    assert (flag(store).action != "engineer_review") == holds

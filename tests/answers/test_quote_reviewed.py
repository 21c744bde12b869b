"""Cracks of a file that an engineer has been asked about: the last word on each holds in a quote of the file too."""

from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers import recording
from analytics.answers.loading import Loaded
from analytics.answers.quote_of_file import quote_file
from analytics.answers.quoting import Quotes
from analytics.answers.records import Records
from tests.histories import CRACK, DONE_JOB

PLANNED = {"job_id": "J-2", "status": "planned", "planned_on": "2026-12-01"}
OTHERS = {"offset_mm": 0, "direction": "vertical", "water": "dry", "movement": "still"}
WIDE = {**CRACK, "crack_id": "J-2-1", "job_id": "J-2", "width_mm": 6, **OTHERS}
ASKED = {"asked_on": "2026-10-01"}
INJECT = {**ASKED, "decided_on": "2026-10-09", "decision": "inject", "reference": "E-14"}
OTHERWISE = {**INJECT, "decision": "repair_otherwise"}


@pytest.fixture
def store(load_tables: Callable[..., Loaded], store_path: Path) -> Path:
    load_tables({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, WIDE]})
    return store_path


def found(store: Path, **said: object) -> Quotes:
    row = {**WIDE, **said}
    path = store.with_name("cracks.csv")
    cells = ("" if value is None else str(value) for value in row.values())
    path.write_text(f"{','.join(row)}\n{','.join(cells)}\n", encoding="utf-8")
    return quote_file(Records.of(store), path)


@pytest.mark.parametrize(
    ("decision", "rule", "priced"), [(OTHERWISE, "engineer_decided", False), (ASKED, "engineer_asked", True)]
)
def test_a_crack_that_is_not_to_be_injected_is_not_priced_from_a_file_either(
    store: Path, decision: dict[str, str], rule: str, *, priced: bool
) -> None:
    recording.record_decision(store, "J-2", "J-2-1", decision)
    [quote] = found(store, width_mm=0.5, water=None).quotes  # whatever is measured now
    assert quote.flag.action == "engineer_review"
    assert rule in {reason.rule for reason in quote.flag.reasons}
    assert bool(quote.flag.unpriced) != priced


def test_a_decision_to_inject_clears_what_is_measured_as_recorded(store: Path) -> None:
    assert found(store).quotes[0].flag.action == "engineer_review"
    recording.record_decision(store, "J-2", "J-2-1", INJECT)
    quotes = found(store)
    assert quotes.quotes[0].flag.action != "engineer_review"
    assert [reason.rule for reason in quotes.quotes[0].flag.reasons if reason.cleared] == ["wide"]
    assert quotes.unused == ()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"width_mm": 8}, "width 6 mm, now 8 mm"),
        ({"water": "damp"}, "water dry, now damp"),
        ({"direction": None}, "direction vertical, now not recorded"),
    ],
)
def test_a_file_that_measures_it_otherwise_is_flagged_again(store: Path, said: dict[str, object], words: str) -> None:
    recording.record_decision(store, "J-2", "J-2-1", INJECT)
    [quote] = found(store, **said).quotes
    assert quote.flag.action == "engineer_review"
    [wide] = [reason for reason in quote.flag.reasons if reason.rule == "wide"]
    assert wide.text.endswith(f"(ref E-14), on other measurements: {words}")


def test_what_the_records_measured_anew_since_is_flagged_in_a_file_of_before_too(store: Path) -> None:
    recording.record_decision(store, "J-2", "J-2-1", INJECT)
    recording.change_crack(store, "J-2", "J-2-1", {"width_mm": "8"})
    for width in (6, 8):
        assert found(store, width_mm=width).quotes[0].flag.action == "engineer_review"


@pytest.mark.parametrize("job", ["J-9", None])
@pytest.mark.parametrize(
    ("decision", "words"),
    [(OTHERWISE, "repair it another way"), (INJECT, "inject"), (ASKED, "asked, not decided")],
)
def test_a_crack_of_that_number_in_another_job_is_named(
    store: Path, job: str | None, decision: dict[str, str], words: str
) -> None:
    recording.record_decision(store, "J-2", "J-2-1", decision)
    quotes = found(store, job_id=job)
    assert [reason.rule for reason in quotes.quotes[0].flag.reasons if reason.cleared] == []
    [said] = quotes.unused
    assert said.startswith("What an engineer was asked is not looked at where the file has the crack under no job or ")
    assert said.endswith(f": 1 crack (J-2-1 of job J-2: {words}).")

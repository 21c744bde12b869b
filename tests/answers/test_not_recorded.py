"""What cannot be recorded by hand, each with its reason, and the store left as it was."""

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from analytics.answers import recording
from analytics.answers.not_recorded import RefusedError
from analytics.answers.records import Records


def ledger(store: Path) -> list[dict[str, Any]]:
    return Records.of(store).ask("load_ledger").to_dicts()


CALLED = {"callback_id": "B-08", "reported_on": "2026-10-01"}
DECIDED = {"decided_on": "2026-10-01", "decision": "inject"}
REFUSED: list[tuple[Callable[..., object], tuple[Any, ...], str]] = [
    (
        recording.record_call,
        ("J-1", CALLED | {"reported_on": "2023-01-01"}),
        "2023-01-01, before the job was done on 2024-01-15",
    ),
    (recording.record_call, ("J-2", CALLED), "job J-2 is planned, not done"),
    (recording.record_call, ("J-1", CALLED | {"crack_id": "J-2-1"}), "job J-1 has no crack J-2-1"),
    (
        recording.record_call,
        ("J-1", CALLED | {"callback_id": "B-07"}),
        "a call B-07 is loaded already; choose",
    ),
    (recording.record_call, ("J-1", CALLED | {"callback_id": ""}), "Not recorded: call number: must not be blank."),
    (recording.record_call, ("J-1", CALLED | {"finding": "leakback"}), "did you mean leak_back?"),
    (recording.record_call, ("J-9", CALLED), "no job J-9 is loaded"),
    (recording.plan_job, ({"job_id": "J-1", "planned_on": "2026-12-01"}, []), "a job J-1 is loaded already"),
    (
        recording.plan_job,
        ({"job_id": "J-3", "planned_on": ""}, []),
        "a planned job needs the day it is planned for.",
    ),
    (recording.add_crack, ("J-2", {"crack_id": "K-1"}), "a crack K-1 is loaded already"),
    (recording.add_crack, ("J-9", {"crack_id": "K-9"}), "no job J-9 is loaded"),
    (
        recording.change_crack,
        ("J-2", "J-2-1", {"length_m": "1/8"}),
        "crack J-2-1, length: “1/8” is a fraction; write it",
    ),
    (
        recording.change_crack,
        ("J-2", "J-2-1", {"length_m": "60"}),
        "60.0 m; it must be over 0 and at most 50 m.",
    ),
    (recording.change_crack, ("J-2", "J-2-1", {"length_m": "2.0"}), "Nothing recorded"),
    (recording.change_crack, ("J-2", "K-1", {"length_m": "2"}), "job J-2 has no crack K-1"),
    (
        recording.record_decision,
        ("J-2", "J-2-1", {"decision": "inject"}),
        "ed: a decision needs its day, and the day its decision: give both or neither.",
    ),
    (recording.record_decision, ("J-2", "J-2-1", DECIDED | {"decided_on": "2099-01-01"}), "after the day of this load"),
    (recording.record_decision, ("J-2", "J-2-1", DECIDED | {"reference": "Dr Example"}), "free text are not kept"),
    (recording.close_job, ("J-2", {"done_on": ""}, {}), "an engineer looks first at J-2-1"),
    (
        partial(recording.close_job, undecided=True),
        ("J-2", {"done_on": "", "price_charged": "9"}, {}),
        "a done job needs the day it was done.",
    ),
]


def test_what_cannot_be_taken_says_why_and_leaves_the_store_as_it_was(store: Path) -> None:
    before = ledger(store)
    for act, words, said in REFUSED:
        with pytest.raises(RefusedError) as refused:
            act(store, *words)
        assert said in str(refused.value)
        assert "ecorded" in str(refused.value)
        assert "\n" not in str(refused.value)
    assert ledger(store) == before


def test_a_form_is_not_told_of_a_column_map(store: Path) -> None:
    with pytest.raises(RefusedError, match=r"write 1250\.00 or 1\.25\.$") as refused:
        recording.change_job(store, "J-2", {"price_quoted": "1.250"})
    assert "map" not in str(refused.value)


def test_every_reason_is_given_at_once(store: Path) -> None:
    with pytest.raises(RefusedError) as refused:
        recording.change_crack(store, "J-2", "J-2-1", {"length_m": "long", "water": "wet", "offset_mm": "400"})
    for label in ("length", "water", "offset"):
        assert f"crack J-2-1, {label}: " in str(refused.value)


def test_what_is_refused_is_said_in_the_words_of_the_form(store: Path) -> None:
    job = {"job_id": "J-3", "site_id": "S-3", "planned_on": "2026-12-03", "travel_minutes": "half an hour"}
    cracks = [{"crack_id": "J-3-1", "length_m": "2"}, {"crack_id": "", "length_m": "2 litres"}]
    with pytest.raises(RefusedError) as refused:
        recording.plan_job(store, job, cracks)
    said = str(refused.value)
    assert "travel: what is typed is not a number; write it as a decimal number; " in said
    assert "crack 2, crack number: must not be blank" in said
    assert "crack 2, length: “2 litres” is not a number of m; write one such as 2.5; " in said
    assert "no job" not in said
    assert not re.search(r"[a-z]_[a-z]|\bthe cell\b|\.\.", said)

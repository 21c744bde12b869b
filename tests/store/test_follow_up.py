from collections.abc import Callable
from datetime import date

import pytest

from analytics.answers.records import Records
from analytics.errors import LeakbackError
from tests.histories import CRACK, DONE_JOB

Opener = Callable[..., Records]
CALL = {"callback_id": "B-1", "job_id": "J-1", "crack_id": "K-1", "reported_on": "2024-03-15", "finding": "leak_back"}
LATER: dict[str, object] = {"job_id": "J-9", "status": "quoted", "quoted_on": "2026-10-01"}


def watched(records: Records) -> dict[str, tuple[float, bool]]:
    rows = records.ask("follow_up").select("crack_id", "watched_days", "leaked_back").rows()
    return {str(crack): (float(days), bool(leaked)) for crack, days, leaked in rows}


def history(**changes: object) -> dict[str, list[dict[str, object]]]:
    return {"jobs": [{**DONE_JOB, **changes}, LATER], "cracks": [CRACK]}


def test_a_crack_is_watched_until_the_as_of_date(records_of: Opener) -> None:
    records = records_of(history())
    assert records.as_of == date(2026, 10, 1)
    assert watched(records) == {"K-1": ((date(2026, 10, 1) - date(2024, 1, 15)).days, False)}


def test_a_planned_day_never_moves_the_as_of_date(records_of: Opener) -> None:
    planned = {"job_id": "J-8", "status": "planned", "planned_on": "2027-02-01"}
    records = records_of({"jobs": [DONE_JOB, planned], "cracks": [CRACK]})
    assert records.as_of == date(2024, 1, 15)


def test_a_crack_is_watched_no_longer_than_its_warranty(records_of: Opener) -> None:
    assert watched(records_of(history(warranty_months=24))) == {"K-1": (731.0, False)}  # 2024 is a leap year


def test_its_first_leak_back_ends_the_watch(records_of: Opener) -> None:
    calls = [{**CALL, "callback_id": "B-2", "reported_on": "2025-01-01"}, CALL]
    assert watched(records_of({**history(), "callbacks": calls})) == {"K-1": (60.0, True)}


def test_a_leak_back_on_the_day_counts_half_a_day(records_of: Opener) -> None:
    tables = {**history(), "callbacks": [{**CALL, "reported_on": "2024-01-15"}]}
    assert watched(records_of(tables)) == {"K-1": (0.5, True)}


@pytest.mark.parametrize(("reported_on", "counts"), [("2024-07-15", True), ("2024-07-16", False)])
def test_only_a_leak_back_inside_its_warranty_counts(records_of: Opener, reported_on: str, counts: bool) -> None:
    tables = {**history(warranty_months=6), "callbacks": [{**CALL, "reported_on": reported_on}]}
    assert watched(records_of(tables)) == {"K-1": (182.0, counts)}


@pytest.mark.parametrize("finding", ["new_crack", "condensation", None])
def test_other_findings_are_no_leak_back(records_of: Opener, finding: str | None) -> None:
    tables = {**history(), "callbacks": [{**CALL, "finding": finding}]}
    assert watched(records_of(tables))["K-1"][1] is False


def test_an_earlier_as_of_date_knows_nothing_that_came_later(records_of: Opener) -> None:
    records = records_of({**history(), "callbacks": [CALL]}, date(2024, 3, 1))
    assert watched(records) == {"K-1": (46.0, False)}
    assert watched(records_of(history(), date(2024, 1, 14))) == {}


def test_a_call_that_names_no_crack_is_placed_on_the_wettest_then_widest(records_of: Opener) -> None:
    cracks = [
        {**CRACK, "crack_id": "K-1", "water": "dry", "width_mm": 4},
        {**CRACK, "crack_id": "K-2", "water": "seeping", "width_mm": 0.4},
        {**CRACK, "crack_id": "K-3", "water": "seeping", "width_mm": 0.6},
    ]
    records = records_of({"jobs": [DONE_JOB, LATER], "cracks": cracks, "callbacks": [{**CALL, "crack_id": None}]})
    assert {crack: leaked for crack, (_, leaked) in watched(records).items()} == {
        "K-1": False,
        "K-2": False,
        "K-3": True,
    }
    assert records.ask("unplaced_leak_backs")["crack_id"].to_list() == ["K-3"]


def test_the_only_crack_of_a_job_needs_no_rule(records_of: Opener) -> None:
    records = records_of({**history(), "callbacks": [{**CALL, "crack_id": None}]})
    assert watched(records)["K-1"][1] is True
    assert records.ask("unplaced_leak_backs").is_empty()


def test_the_seasons_turn_round_in_the_south(records_of: Opener) -> None:
    records = records_of(history())
    assert records.ask("follow_up")["season"].to_list() == ["winter"]
    south = Records(records.store, records.policy, type(records.ask)(records.store, records.as_of, "south"))
    assert south.ask("follow_up")["season"].to_list() == ["summer"]


def test_an_earlier_leak_back_at_the_site_is_known_when_the_next_job_is_planned(records_of: Opener) -> None:
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2026-12-01", "site_id": "S-1"}
    cracks = [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}]
    records = records_of({"jobs": [{**DONE_JOB, "site_id": "S-1"}, planned], "cracks": cracks, "callbacks": [CALL]})
    [row] = records.ask("planned_cracks").select("crack_id", "site_leak_backs", "season").rows()
    assert row == ("K-2", 1, "winter")


def test_a_day_after_the_records_end_is_refused(records_of: Opener) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    with pytest.raises(LeakbackError, match="the records reach 2024-01-15"):
        Records.of(records.store.path, date(2024, 1, 16))


DECIDED: dict[str, object] = {"review_id": "R-1", "crack_id": "K-2", "asked_on": "2024-01-03", "decision": "monitor"}
WET = {**CRACK, "crack_id": "K-2", "water": "running"}


@pytest.mark.parametrize(
    ("crack", "review", "repaired"),
    [
        ({}, {}, False),
        ({}, {"decision": "inject"}, True),
        ({}, {"decided_on": "2024-01-16"}, True),  # the day after the work: it had been injected
        ({"resin_litres": 0.8}, {}, True),  # injected in spite of the decision
        ({"labour_minutes": 90}, {}, True),
        ({"port_count": 9}, {}, True),
    ],
)
def test_a_crack_left_as_it_was_on_a_done_job_is_not_watched(
    records_of: Opener, crack: dict[str, object], review: dict[str, object], repaired: bool
) -> None:
    # Nobody repaired it, so it holds for ever: with one such crack on each job of two a rate would be half as high.
    reviews = [{**DECIDED, "decided_on": "2024-01-15", **review}]
    tables = {"jobs": [DONE_JOB, LATER], "cracks": [CRACK, {**WET, **crack}], "reviews": reviews}
    assert set(watched(records_of(tables))) == ({"K-1", "K-2"} if repaired else {"K-1"})


def test_a_call_that_names_no_crack_is_not_placed_on_one_left_as_it_was(records_of: Opener) -> None:
    reviews = [{**DECIDED, "decided_on": "2024-01-15"}]
    calls = [{**CALL, "crack_id": None}]
    tables = {"jobs": [DONE_JOB, LATER], "cracks": [CRACK, WET], "reviews": reviews, "callbacks": calls}
    records = records_of(tables)
    assert watched(records) == {"K-1": (60.0, True)}
    assert records.ask("unplaced_leak_backs").is_empty()

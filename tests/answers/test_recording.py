"""What is recorded by hand: whole or not at all, refused for a file's reasons, undone like a load."""

from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.answers import recording
from analytics.answers.flagging import flags
from analytics.answers.job_rows import JobRows
from analytics.answers.last_entry import last_entry, take_back
from analytics.answers.loading import load, rejects, undo, warnings
from analytics.answers.mending import write_work_list
from analytics.answers.not_recorded import RefusedError
from analytics.answers.records import Records
from analytics.answers.standing import Person, asking
from analytics.errors import LeakbackError
from analytics.pages.record import TITLE
from tests.histories import TODAY, write_tables

DECIDED = {"decided_on": "2026-10-01", "decision": "inject"}


def rows(store: Path, job_id: str) -> JobRows:
    return JobRows.of(Records.of(store), job_id)


def ledger(store: Path) -> list[dict[str, Any]]:
    return Records.of(store).ask("load_ledger").to_dicts()


def action(store: Path, crack_id: str) -> str:
    return next(flag.action for flag in flags(Records.of(store)).flags if flag.crack_id == crack_id)


def test_an_engineers_decision_to_inject_clears_the_flag(store: Path) -> None:
    assert action(store, "J-2-1") == "engineer_review"
    recording.ask_engineer(store, "J-2", "J-2-1", {"asked_on": "2026-10-01"})
    assert action(store, "J-2-1") == "engineer_review"
    typed = {"decided_on": "2026-10-09", "decision": "inject", "reference": "E-14"}
    said = str(recording.record_decision(store, "J-2", "J-2-1", typed))
    assert said.startswith("Recorded: the engineer's decision on crack J-2-1. It is load 3")
    assert action(store, "J-2-1") != "engineer_review"
    [review] = rows(store, "J-2").rows("reviews")
    assert review == {"review_id": "R-0001", "crack_id": "J-2-1", "asked_on": "2026-10-01", **typed}


def test_a_decision_nobody_had_asked_for_is_a_review_of_its_own(store: Path) -> None:
    recording.record_decision(store, "J-2", "J-2-1", {"decided_on": "2026-10-01", "decision": "monitor"})
    recording.record_decision(
        store, "J-2", "J-2-1", {"asked_on": "2026-10-02", "decided_on": "2026-10-02", "decision": "inject"}
    )
    assert {review["review_id"] for review in rows(store, "J-2").rows("reviews")} == {"R-0001", "R-0002"}
    assert action(store, "J-2-1") != "engineer_review"


def reviews(store: Path) -> dict[str, list[dict[str, str]]]:
    found: dict[str, list[dict[str, str]]] = {}
    for review in rows(store, "J-2").rows("reviews"):
        found.setdefault(review["crack_id"], []).append(review)
    return found


@pytest.fixture
def several(store: Path) -> Path:
    """Four cracks for an engineer: nobody asked, one asked about, one declined, and one to inject."""
    for number in (2, 3, 4):
        recording.add_crack(store, "J-2", {"crack_id": f"J-2-{number}", "direction": "horizontal"})
    recording.ask_engineer(store, "J-2", "J-2-2", {"asked_on": "2026-10-01"})
    decided = {"asked_on": "2026-10-01", "decided_on": "2026-10-02"}
    recording.record_decision(store, "J-2", "J-2-3", decided | {"decision": "repair_otherwise"})
    recording.record_decision(store, "J-2", "J-2-4", decided | {"decision": "inject"})
    return store


def test_one_answer_is_for_the_cracks_of_a_job_that_wait(several: Path) -> None:
    """What an engineer has decided about another one stands, and an open question keeps its day."""
    typed = {"asked_on": "2026-10-08", "decided_on": "2026-10-09", "decision": "inject", "reference": "E-14"}
    said = recording.record_decision(several, "J-2", "J-2-1", typed, whole_job=True)
    assert said.what == "the engineer's decision on cracks J-2-1, J-2-2"
    found = reviews(several)
    assert {crack: [review["decision"] for review in each] for crack, each in found.items()} == {
        "J-2-1": ["inject"], "J-2-2": ["inject"], "J-2-3": ["repair_otherwise"], "J-2-4": ["inject"],
    }  # fmt: skip
    assert [found[f"J-2-{n}"][0]["asked_on"] for n in (1, 2)] == ["2026-10-08", "2026-10-01"]
    assert len({review["review_id"] for each in found.values() for review in each}) == 4
    with pytest.raises(LeakbackError, match="job J-2 has no crack K-1"):
        recording.record_decision(several, "J-2", "K-1", typed, whole_job=True)


def test_an_answer_without_a_day_of_asking_takes_that_of_the_open_question(several: Path) -> None:
    typed = {"decided_on": "2026-10-09", "decision": "inject"}
    recording.record_decision(several, "J-2", "J-2-2", typed, whole_job=True)
    assert [review["asked_on"] for review in reviews(several)["J-2-1"]] == ["2026-10-01"]


def test_nobody_is_asked_twice_about_one_crack(several: Path) -> None:
    said = recording.ask_engineer(several, "J-2", "J-2-1", {"asked_on": "2026-10-20"}, whole_job=True)
    assert said.what == "an engineer was asked about crack J-2-1"
    assert {crack: len(each) for crack, each in reviews(several).items()} == {f"J-2-{n}": 1 for n in (1, 2, 3, 4)}


def test_a_job_an_engineer_declined_is_closed_by_that_name(store: Path) -> None:
    decided = {"asked_on": "2026-10-01", "decided_on": "2026-10-02", "decision": "repair_otherwise"}
    recording.record_decision(store, "J-2", "J-2-1", decided)
    recording.close_job(store, "J-2", {"done_on": "2026-10-09", "price_charged": "900"}, {})
    assert ledger(store)[0]["file"].startswith("by hand: job closed after an engineer decided not to inject")


def test_what_is_recorded_is_a_load_that_can_be_undone(store: Path) -> None:
    before = rows(store, "J-1").rows("callbacks")
    recording.change_call(store, "J-1", "B-07", {"crack_id": "K-1"})
    [call] = rows(store, "J-1").rows("callbacks")
    assert call["crack_id"] == "K-1"
    newest = ledger(store)[0]
    assert (newest["file"], newest["table_name"], newest["loaded"]) == ("by hand: call B-07", "callbacks", 1)
    assert len(newest["sha256"]) == 64
    undo(store)
    assert rows(store, "J-1").rows("callbacks") == before


def test_the_last_entry_is_taken_back_only_while_it_is_the_last(store: Path) -> None:
    assert last_entry(Records.of(store)) is None
    before = rows(store, "J-2")
    recording.change_crack(store, "J-2", "J-2-1", {"length_m": "3.5"})
    first = last_entry(Records.of(store))
    assert first is not None
    assert (first.batch, first.kind, first.rows) == (2, "crack", ("crack J-2-1",))
    recording.record_call(store, "J-1", {"callback_id": "B-08", "reported_on": "2026-10-01"})
    with pytest.raises(LeakbackError, match="Nothing taken back"):
        take_back(store, first)
    second = last_entry(Records.of(store))
    assert second is not None
    assert take_back(store, second).startswith("Taken back: call B-08.")
    assert last_entry(Records.of(store)) == first
    take_back(store, first)
    assert rows(store, "J-2").row("cracks", "J-2-1") == before.row("cracks", "J-2-1")


def test_who_may_take_back_is_told_where(store: Path) -> None:
    assert str(recording.change_job(store, "J-2", {"travel_minutes": "18"})) == (
        f"Recorded: job J-2 is changed. It is load 2; it can be taken back under {TITLE}."
    )
    with asking(Person("estimator")):
        said = str(recording.change_job(store, "J-2", {"travel_minutes": "19"}))
    assert said == "Recorded: job J-2 is changed. It is load 3."


def test_a_leak_back_placed_by_hand_leaves_the_list_of_those_placed_by_rule(store: Path) -> None:
    [placed] = Records.of(store).ask("unplaced_leak_backs").to_dicts()
    assert (placed["callback_id"], placed["crack_id"]) == ("B-07", "K-2")
    recording.change_call(store, "J-1", "B-07", {"crack_id": "K-1"})
    records = Records.of(store)
    assert records.ask("unplaced_leak_backs").is_empty()
    leaked = {row["crack_id"]: row["leaked_back"] for row in records.ask("follow_up").to_dicts()}
    assert leaked == {"K-1": True, "K-2": False}


def test_only_what_was_typed_changes(store: Path) -> None:
    """Two people have the same form open: neither takes the other's figures back."""
    recording.change_crack(store, "J-2", "J-2-1", {"length_m": "3.5"})
    recording.change_crack(store, "J-2", "J-2-1", {"width_mm": "4,5"})
    crack = rows(store, "J-2").row("cracks", "J-2-1")
    assert (crack["length_m"], crack["width_mm"], crack["direction"]) == ("3.5", "4.5", "vertical")


def test_a_cell_is_emptied_where_it_is_typed_empty(store: Path) -> None:
    recording.change_crack(store, "J-2", "J-2-1", {"direction": ""})
    assert rows(store, "J-2").row("cracks", "J-2-1")["direction"] == ""


def test_a_site_in_force_keeps_its_code(store: Path) -> None:
    before = rows(store, "J-2").job
    recording.change_job(store, "J-2", {"planned_on": "2026-12-08", "crew_id": "Robin Example"})
    after = rows(store, "J-2").job
    assert before is not None
    assert after is not None
    assert after["site_id"] == before["site_id"]
    assert after["planned_on"] == "2026-12-08"
    assert after["crew_id"].startswith("crew-")


def test_a_job_is_closed_with_what_went_into_each_crack(store: Path) -> None:
    typed = {"done_on": "2026-10-30", "price_charged": "810.50", "crew_id": "C02"}
    work = {"J-2-1": {"resin_litres": "0.9", "port_count": "12", "dried": "true"}}
    recording.record_decision(store, "J-2", "J-2-1", DECIDED)
    recording.close_job(store, "J-2", typed, work)
    found = rows(store, "J-2")
    assert found.job is not None
    assert {key: found.job[key] for key in ("status", *typed)} == {"status": "done", **typed}
    assert found.row("cracks", "J-2-1")["port_count"] == "12"
    assert found.row("cracks", "J-2-1")["width_mm"] == "6"
    assert Records.of(store).as_of == date(2026, 10, 30)


def test_a_job_that_waits_for_an_engineer_is_closed_only_where_it_is_said_that_none_decided(store: Path) -> None:
    typed = {"done_on": "2026-10-30", "price_charged": "810.50"}
    with pytest.raises(RefusedError, match="an engineer looks first at J-2-1"):
        recording.close_job(store, "J-2", typed, {})
    recording.close_job(store, "J-2", typed, {}, undecided=True)
    names = [row["file"] for row in ledger(store)]
    assert any("closed without the engineer's decision" in name for name in names)


def test_a_job_is_not_closed_with_nothing_written_down(store: Path) -> None:
    recording.record_decision(store, "J-2", "J-2-1", DECIDED)
    with pytest.raises(RefusedError, match="neither litres, nor minutes, nor a price"):
        recording.close_job(store, "J-2", {"done_on": "2026-10-30"}, {"J-2-1": {"port_count": "12"}})
    recording.close_job(store, "J-2", {"done_on": "2026-10-30"}, {"J-2-1": {"labour_minutes": "90"}})


def test_a_new_job_comes_with_its_cracks_in_one_load(store: Path) -> None:
    job = {"job_id": "J-3", "site_id": "17 Invented Lane", "planned_on": "2026-12-03", "crew_id": "Robin Example"}
    recording.plan_job(store, job, [{"crack_id": "J-3-1", "length_m": "2"}, {"crack_id": "J-3-2", "length_m": "1"}])
    newest = [row for row in ledger(store) if row["batch"] == 2]
    assert {row["table_name"]: row["loaded"] for row in newest} == {"jobs": 1, "cracks": 2}
    for path in store.parent.rglob("*"):
        if path.is_file():
            assert b"Invented" not in path.read_bytes(), path
            assert b"Robin" not in path.read_bytes() or path.name.endswith(".private.json"), path


def warned(store: Path) -> list[tuple[str, str]]:
    return [(row["file"], row["column"]) for row in warnings(Records.of(store)).to_dicts()]


def test_a_warning_about_a_row_stays_until_that_row_is_written_down_again(store: Path) -> None:
    recording.add_crack(store, "J-2", {"crack_id": "J-2-8", "length_m": "20"})
    recording.add_crack(store, "J-2", {"crack_id": "J-2-9", "length_m": "2"})
    recording.change_crack(store, "J-2", "J-2-9", {"length_m": "3"})
    assert warned(store) == [("by hand: crack J-2-8", "length_m")]
    recording.change_crack(store, "J-2", "J-2-8", {"width_mm": "30"})
    assert warned(store) == [("by hand: crack J-2-8", "length_m"), ("by hand: crack J-2-8", "width_mm")]
    recording.change_crack(store, "J-2", "J-2-8", {"length_m": "2", "width_mm": "0.3"})
    assert warned(store) == []
    undo(store)
    assert len(warned(store)) == 2


def test_each_row_of_a_form_is_warned_of_until_it_is_written_down_again(store: Path) -> None:
    job = {"job_id": "J-3", "planned_on": "2026-12-03", "travel_minutes": "700"}
    recording.plan_job(store, job, [{"crack_id": f"J-3-{n}", "length_m": "20"} for n in (1, 2)])
    assert [file for file, _ in warned(store)] == [
        f"by hand: {row}" for row in ("crack J-3-1", "crack J-3-2", "job J-3")
    ]
    recording.change_crack(store, "J-3", "J-3-1", {"length_m": "2"})
    recording.change_job(store, "J-3", {"travel_minutes": "70"})
    assert warned(store) == [("by hand: crack J-3-2", "length_m")]
    assert [row["file"] for row in ledger(store) if row["batch"] == 2] == ["by hand: planned job J-3"] * 2


def test_numbers_are_suggested_in_the_businesss_own_way(store: Path) -> None:
    records = Records.of(store)
    assert recording.suggested(records, "callbacks") == "B-08"
    assert recording.suggested(records, "jobs") == "J-3"
    assert recording.suggested(records, "reviews") == "R-0001"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"width_mm": "1/8 in"}, "3.175"),
        ({"width_mm": '1 1/2"'}, "38.1"),
        ({"length_m": "8 ft"}, "2.4384"),
        ({"wall_temp_c": "50 °F"}, "10"),
        ({"length_m": "2,4"}, "2.4"),
    ],
)
def test_a_measurement_may_be_typed_with_a_unit_of_its_own(store: Path, typed: dict[str, str], kept: str) -> None:
    """1 in = 25.4 mm and 1 ft = 0.3048 m exactly (NIST SP 811, Appendix B)."""
    recording.change_crack(store, "J-2", "J-2-1", typed)
    [column] = typed
    assert rows(store, "J-2").row("cracks", "J-2-1")[column] == kept


@pytest.mark.parametrize("price", ["1.250", "1,250"])
def test_a_price_written_down_by_hand_is_asked_for_again(store: Path, price: str) -> None:
    typed = {"price_quoted": price, "travel_minutes": "30,5" if "," in price else "30.5"}
    with pytest.raises(RefusedError, match=r"write 1250\.00 or 1\.25"):
        recording.change_job(store, "J-2", typed)


def test_a_call_takes_no_number_under_which_a_rejected_one_waits(store: Path, tmp_path: Path) -> None:
    rejected = {"callback_id": "B-08", "job_id": "J-1", "reported_on": "2024-01-14", "finding": "leak_back"}
    load(store, [write_tables(tmp_path / "calls", {"callbacks": [rejected]})], today=TODAY)
    assert recording.suggested(Records.of(store), "callbacks") == "B-09"
    call = {"callback_id": "B-08", "reported_on": "2026-10-02"}
    with pytest.raises(RefusedError, match="a rejected call B-08 waits to be mended; choose another number"):
        recording.record_call(store, "J-1", call)
    recording.record_call(store, "J-1", {**call, "callback_id": "B-09"})
    assert rejects(Records.of(store))["key"].to_list() == ["B-08"]
    mended = tmp_path / "list.csv"
    write_work_list(Records.of(store), mended, "csv")
    pl.read_csv(mended, infer_schema=False).with_columns(mended=pl.lit("2024-01-16")).write_csv(mended)
    assert load(store, [mended], today=TODAY).tables["callbacks"].loaded == 1
    assert {call["callback_id"] for call in rows(store, "J-1").rows("callbacks")} == {"B-07", "B-08", "B-09"}

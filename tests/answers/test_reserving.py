"""The warranty reserve as asked for: the contract's keys, how it moved, and what is said where there is too little."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from analytics.answers import reserving
from analytics.answers.flagging import flags
from analytics.answers.modelling import ONE_RISK
from analytics.answers.pricing import prices
from analytics.answers.quoting import quote_planned
from analytics.answers.records import Records
from analytics.answers.reserving import Reserved, reserve
from analytics.errors import LeakbackError, TooFewError
from tests.histories import CRACK, DONE_JOB, Tables

Opener = Callable[..., Records]
RATES: list[dict[str, object]] = [
    {"effective_on": "2023-01-01", "item": "labour_hour", "amount": "60", "currency": "USD"},
]


@pytest.fixture(scope="module")
def found(demo_store: Path) -> Reserved:
    return reserve(Records.of(demo_store))


@pytest.fixture(scope="module")
def answer(found: Reserved) -> dict[str, Any]:
    return found.answer()


def test_the_contracts_keys_are_there_and_in_order(answer: dict[str, Any]) -> None:
    wanted = {"expected_leak_backs", "low", "high", "expected_cost", "cost_low", "cost_high", "by_quarter"}
    assert wanted <= answer.keys()
    assert answer["low"] < answer["expected_leak_backs"] < answer["high"]
    assert answer["cost_low"] < answer["expected_cost"] < answer["cost_high"]
    assert answer["level"] == 0.9


def test_quarters_begin_the_day_after_the_records_end(found: Reserved, answer: dict[str, Any]) -> None:
    quarters = answer["by_quarter"]
    assert found.as_of is not None
    assert quarters[0]["from"] == found.as_of + timedelta(days=1)
    assert [row["quarter"] for row in quarters[:2]] == ["2026 Q4", "2027 Q1"]
    assert quarters[1]["from"] == date(2027, 1, 1)
    assert sum(row["expected_leak_backs"] for row in quarters) == pytest.approx(answer["expected_leak_backs"], abs=0.01)
    assert sum(row["expected_cost"] for row in quarters) == pytest.approx(answer["expected_cost"], abs=0.01)


def test_the_reasons_it_moved_add_up(answer: dict[str, Any]) -> None:
    moved = answer["moved"]
    assert moved["since"] == date(2026, 9, 30)
    for what in ("leak_backs", "cost"):
        total = moved["opening"][what] + sum(row[what] for row in moved["rows"])
        assert total == pytest.approx(moved["closing"][what], abs=0.01)
    assert moved["closing"]["leak_backs"] == pytest.approx(answer["expected_leak_backs"])
    assert any(row["reason"] == "new work" and row["leak_backs"] > 0 for row in moved["rows"])


def test_every_leak_back_is_one_that_rates_count_or_said_not_to_be(found: Reserved, demo_store: Path) -> None:
    calls, rated = (Records.of(demo_store).ask(name) for name in ("placed_leak_backs", "follow_up"))
    [said] = [note for note in found.notes if note.startswith("Second leak-backs are not counted: ")]
    counted = [int(number) for number in re.findall(r"\d+", said)][1:]
    assert counted == [485, 28, 5, 452]
    assert (calls.height, int(rated["leaked_back"].sum())) == (counted[0], counted[-1])
    assert counted[0] == sum(counted[1:])


def test_changed_rates_show_where_rates_changed(demo_store: Path) -> None:
    # the demo's hour of labour went up on 1 January 2026
    moved = reserve(Records.of(demo_store), since=date(2025, 12, 31)).answer()["moved"]
    (rates,) = (row for row in moved["rows"] if row["reason"] == "changed rates")
    assert rates["leak_backs"] == 0
    assert rates["cost"] > 0


def test_the_chain_ladder_stands_beside_it(answer: dict[str, Any]) -> None:
    ladder = answer["chain_ladder"]
    assert ladder["years"] == 6
    gap = abs(ladder["expected_leak_backs"] - ladder["by_hazard_over_the_same_span"])
    assert gap < 2 * ladder["standard_error"]


def test_what_it_leans_on_is_said(found: Reserved, answer: dict[str, Any]) -> None:
    assert 0 < answer["share_past_oldest_age"] < 0.2
    said = " ".join(found.notes)
    assert "warranty without end" in said
    assert "which no repair has reached yet" in said


def test_a_day_not_before_the_records_end_is_refused(demo_store: Path) -> None:
    records = Records.of(demo_store)
    with pytest.raises(LeakbackError, match=f"give a day before {records.as_of}"):
        reserve(records, since=records.as_of)


def test_a_day_before_there_was_a_model_is_said(demo_store: Path) -> None:
    found = reserve(Records.of(demo_store), since=date(2021, 1, 31))
    assert found.moved is None
    assert any("How it moved since 2021-01-31 cannot be said" in note for note in found.notes)


def test_without_enough_leak_backs_it_says_how_many_more(records_of: Opener) -> None:
    found = reserve(records_of({"jobs": [DONE_JOB], "cracks": [CRACK], "rates": RATES}))
    assert found.reserve is None
    assert "50" in found.said
    answer = found.answer()
    assert answer["expected_leak_backs"] is None
    assert answer["by_quarter"] == []


def many(leaks: int = 80) -> dict[str, list[dict[str, object]]]:
    """240 jobs of a crack each, of which some leaked back early, some late."""
    jobs: list[dict[str, object]] = []
    cracks: list[dict[str, object]] = []
    calls: list[dict[str, object]] = []
    for place in range(240):
        year, month = 2022 + place // 72, place % 12 + 1
        done = {"done_on": f"{year}-{month:02}-10", "quoted_on": f"{year}-{month:02}-01", "warranty_months": 60}
        jobs.append({**DONE_JOB, "job_id": f"J-{place}", "crew_id": f"C0{place % 2 + 1}", **done})
        cracks.append({**CRACK, "crack_id": f"K-{place}", "job_id": f"J-{place}"})
        if place < 3 * leaks and place % 3 == 0:
            late = place % 2
            call = {"reported_on": f"{year + late}-{month:02}-25", "finding": "leak_back", "labour_minutes": 120}
            calls.append({"callback_id": f"B-{place}", "job_id": f"J-{place}", "crack_id": f"K-{place}", **call})
    return {"jobs": jobs, "cracks": cracks, "callbacks": calls}


def test_without_a_rate_there_is_a_count_and_one_sentence(records_of: Opener) -> None:
    found = reserve(records_of(many()))
    assert found.reserve is not None
    assert found.reserve.cost is None
    assert any("no rate for an hour of labour (labour_hour) is in force" in note for note in found.notes)


def test_costs_are_the_firms_own_at_todays_rates(records_of: Opener) -> None:
    found = reserve(records_of({**many(), "rates": RATES}))
    assert found.reserve is not None
    assert found.reserve.cost is not None
    # two hours at 60 each, no material or travel recorded
    assert found.reserve.cost.value == pytest.approx(120 * found.reserve.leak_backs.value)
    assert found.costs == 80
    assert any("Travel to leak-backs is not in their cost" in note for note in found.notes)


APART = "Leak-backs of the latest year run apart"
WORK = {"resin": "epoxy", "resin_litres": 0.4, "labour_minutes": 90, "port_count": 11}
ITEMS = ("labour_hour", "travel_hour", "epoxy_litre", "port_each")


def costed(leaks: int = 80) -> Tables:
    """The same with all that a price takes, and a job planned."""
    found = many(leaks)
    day = {"effective_on": "2022-01-01", "currency": "USD"}
    planned = {"job_id": "J-next", "site_id": "S-9", "crew_id": "C01", "status": "planned", "planned_on": "2025-12-01"}
    return {
        "jobs": [*({**job, "travel_minutes": 30, "price_charged": 500} for job in found["jobs"]), planned],
        "cracks": [*({**crack, **WORK} for crack in found["cracks"]), {**CRACK, "crack_id": "K-n", "job_id": "J-next"}],
        "callbacks": [{**call, "material_cost": 20} for call in found["callbacks"]],
        "rates": [{**day, "item": item, "amount": 30} for item in ITEMS],
    }


def test_a_latest_year_that_leaks_back_less_is_said_beside_all_that_is_still_to_come(records_of: Opener) -> None:
    records = records_of(costed(60))  # of the work since July 2024 nothing leaked back
    (said,) = (note for note in reserve(records).notes if note.startswith(APART))
    assert "more likely too high than too low" in said
    assert re.search(r"foretold \(0\.\d\d\u202f×, 0\.\d\d to 0\.\d\d at 95\u202f?.?%\)", said), said
    assert said in quote_planned(records).said
    assert said in prices(records, ()).said


def test_one_rate_for_every_crack_is_said_where_risks_are_told_and_priced(records_of: Opener, demo_store: Path) -> None:
    """All alike, so nothing tells them apart; the interval beside each was read as that crack's own."""
    records = records_of(costed())
    told = (flags(records).risks_said, *(" ".join(each.said) for each in (quote_planned(records), prices(records, ()))))
    assert [said.count(ONE_RISK) for said in told] == [1, 1, 1]
    demo = flags(Records.of(demo_store))
    assert demo.model is not None
    assert demo.model.chosen != "base_rate"
    assert ONE_RISK not in demo.risks_said


def test_of_risks_that_nobody_is_told_nothing_is_said(records_of: Opener) -> None:
    """Nothing planned, and nothing that could be priced."""
    records = records_of({**many(60), "rates": RATES})
    said = f"{flags(records).risks_said} {' '.join(prices(records, ()).said)}"
    assert ONE_RISK not in said
    assert APART not in said


def test_of_a_latest_year_like_the_others_nothing_is_said(found: Reserved) -> None:
    assert not any(note.startswith(APART) for note in found.notes)


@pytest.mark.parametrize(("chosen", "full"), [("hazard", True), ("boosted", True), ("base_rate", False)])
def test_the_opening_is_foreseen_by_a_model_of_the_same_kind(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, chosen: str, full: bool
) -> None:
    asked: list[tuple[bool, bool]] = []

    def fitted(_: object, __: object, ___: object, features: tuple[object, ...], *, with_crews: bool) -> None:
        asked.append((bool(features), with_crews))
        raise TooFewError("enough")

    monkeypatch.setattr(reserving, "fit", fitted)
    records = Records.of(demo_store)
    now = SimpleNamespace(model=SimpleNamespace(chosen=chosen, penalties=None))
    _, said = reserving._moved_since(records, now, date(2026, 9, 30))  # type: ignore[arg-type]
    assert asked == [(full, full)]
    assert "enough" in said

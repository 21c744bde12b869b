"""The price book as asked for: on the demo, on a history worked by hand, and where something is missing."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.answers.pricing import PriceBook, costs_of, prices
from analytics.answers.records import Records
from analytics.decisions.costs import RatesInForce
from analytics.decisions.scenarios import Scenario
from analytics.errors import LeakbackError, UnknownNameError
from tests.histories import CRACK, DONE_JOB

Opener = Callable[..., Records]
AMOUNTS = {"labour_hour": "60", "travel_hour": "30", "epoxy_litre": "40", "port_each": "2"}
RATES: list[dict[str, object]] = [
    {"effective_on": "2023-01-01", "item": item, "amount": amount, "currency": "EUR"}
    for item, amount in AMOUNTS.items()
]
LITRES = (0.3, 0.4, 0.5, 0.5, 0.6, 0.7)


def history(**changed: object) -> dict[str, list[dict[str, object]]]:
    """Six jobs of a crack each: 2 m of dry epoxy, 100 minutes, ten ports, 40 minutes of travel, sold for 300."""
    terms = {"price_charged": 300, "travel_minutes": 40, "access": "open"}
    work = {"resin": "epoxy", "water": "dry", "port_count": 10, "labour_minutes": 100}
    jobs = [{**DONE_JOB, **terms, **changed, "job_id": f"J-{place}"} for place in range(6)]
    cracks = [
        {**CRACK, **work, "crack_id": f"K-{place}", "job_id": f"J-{place}", "resin_litres": litres}
        for place, litres in enumerate(LITRES)
    ]
    return {"jobs": jobs, "cracks": cracks, "rates": RATES}


@pytest.fixture(scope="module")
def demo(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def book(demo: Records) -> PriceBook:
    return prices(demo, ["resin", "water"])


def test_one_kind_worked_by_hand(records_of: Opener) -> None:
    found = prices(records_of(history()), ["resin", "water"], margin=Decimal("0.25"))
    (row,) = found.answer()["rows"]
    assert (row["resin"], row["water"], row["cracks"], row["metres"]) == ("epoxy", "dry", 6, 12.0)
    # 0.5 L at 40, 10 ports at 2, 100 minutes at 60 an hour, 40 at 30 an hour: 20 + 20 + 100 + 20 over 2 m
    assert row["cost_per_metre"] == 80
    assert row["parts"]["material"]["value"] == 20
    assert row["leak_back_cost_per_metre"] == 0
    assert row["floor_per_metre"] == 80
    assert row["target_per_metre"] == pytest.approx(80 / 0.75, abs=1e-4)
    assert row["charged_per_metre"] == 150
    assert row["left_per_metre"] == 70
    assert row["low"] < 80 < row["high"]
    assert found.currency == "EUR"
    said = " ".join(found.said)
    assert "Leak-backs are not in the floor" in said
    assert "The seal is not in the cost" in said


def test_what_work_cost_worked_by_hand(records_of: Opener) -> None:
    records = records_of(history())
    done = records.ask("follow_up")
    # 3 L at 40, and of each crack ten ports at 2, 100 minutes at 60 an hour, 40 at 30 an hour
    cost = costs_of(records, done)["direct"]
    assert (round(cost.sum(), 9), len(cost)) == (120 + 6 * (20 + 100 + 20), 6)
    lacking = done.with_columns(port_count=pl.when(pl.col("crack_id") != "K-0").then("port_count"))
    cost = costs_of(records, lacking)["direct"]
    assert (round(cost.sum(), 9), len(cost)) == (2.7 * 40 + 5 * 140, 5)
    assert costs_of(records, done.clear()).is_empty()


def test_the_contracts_keys_are_there(book: PriceBook) -> None:
    wanted = {
        "resin", "water", "cracks", "cost_per_metre", "leak_back_cost_per_metre", "floor_per_metre",
        "target_per_metre", "charged_per_metre", "low", "high",
    }  # fmt: skip
    for row in book.answer()["rows"]:
        assert wanted <= row.keys()
        assert row["low"] < row["floor_per_metre"] < row["high"]
        for part in row["parts"].values():
            assert part["low"] <= part["value"] <= part["high"]


def test_floors_and_targets_are_what_they_say(book: PriceBook) -> None:
    for row in book.answer()["rows"]:
        floor = row["cost_per_metre"] + row["leak_back_cost_per_metre"]
        assert row["floor_per_metre"] == pytest.approx(floor, abs=2e-4)
        assert row["target_per_metre"] == pytest.approx(floor / (1 - 0.38), abs=2e-4)
        assert row["left_per_metre"] == pytest.approx(row["charged_per_metre"] - floor, abs=2e-4)


def test_least_is_left_first(book: PriceBook) -> None:
    left = [row["left_per_metre"] for row in book.answer()["rows"]]
    assert left == sorted(left)


def test_epoxy_on_running_water_leaks_back_dearest(book: PriceBook) -> None:
    rows = {(row["resin"], row["water"]): row["leak_back_cost_per_metre"] for row in book.answer()["rows"]}
    assert max(rows, key=lambda kind: rows[kind]) == ("epoxy", "running")  # so in the invented business's truth
    assert rows["epoxy", "dry"] < rows["epoxy", "seeping"]


def test_thin_kinds_are_silent_and_say_why(demo: Records) -> None:
    rows = prices(demo).answer()["rows"]
    silent = [row for row in rows if row["cost_per_metre"] is None]
    assert silent
    for row in silent:
        assert row["jobs"] < 5
        assert row["note"] == f"only {row['jobs']} job{'' if row['jobs'] == 1 else 's'}; 5 are needed"
        assert row["floor_per_metre"] is None
        assert row["charged_per_metre"] is None
    assert rows[-len(silent) :] == silent


def overall(records: Records, **said: Any) -> dict[str, Any]:
    found: dict[str, Any] = prices(records, ["resin"], scenario=Scenario(**said)).answer()["overall"]
    return found


def rate(records: Records, item: str) -> Decimal:
    return RatesInForce.of(records.ask("current_rates")).need(item)


def test_a_dearer_hour_costs_its_share(demo: Records, book: PriceBook) -> None:
    now = book.answer()["overall"]
    then = overall(demo, labour_hour=2 * rate(demo, "labour_hour"))
    assert then["parts"]["labour"]["value"] == pytest.approx(2 * now["parts"]["labour"]["value"], rel=1e-6)
    assert then["parts"]["material"] == now["parts"]["material"]
    assert then["leak_back_cost_per_metre"] > now["leak_back_cost_per_metre"]


def test_dearer_resin_a_shorter_warranty_and_another_margin(demo: Records, book: PriceBook) -> None:
    now = book.answer()["overall"]
    twice = {item: 2 * rate(demo, item) for item in ("epoxy_litre", "urethane_foam_litre")}
    dear = overall(demo, **twice)
    assert dear["parts"]["resin"]["value"] == pytest.approx(2 * now["parts"]["resin"]["value"], rel=1e-6)
    short = overall(demo, warranty_months=24)
    assert short["leak_back_cost_per_metre"] < now["leak_back_cost_per_metre"]
    assert short["cost_per_metre"] == now["cost_per_metre"]
    aimed = overall(demo, margin=Decimal("0.5"))
    assert aimed["target_per_metre"] == pytest.approx(2 * now["floor_per_metre"], abs=1e-3)


def test_prep_costs_and_spares_leak_backs(demo: Records, book: PriceBook) -> None:
    now, prepared = book.answer()["overall"], overall(demo, prep=True)
    assert prepared["parts"]["prep"]["value"] > 0
    assert now["parts"]["prep"]["value"] == 0
    assert prepared["leak_back_cost_per_metre"] < now["leak_back_cost_per_metre"]


def test_a_missing_rate_is_one_sentence(records_of: Opener) -> None:
    without = {**history(), "rates": [rate for rate in RATES if rate["item"] != "port_each"]}
    found = prices(records_of(without))
    assert found.rows.is_empty()
    assert found.said == ("No prices: no rate for a port (port_each) is in force: load one, or set it under Prices.",)
    assert found.answer()["overall"] is None


def test_without_a_price_there_is_a_floor_and_no_charge(records_of: Opener) -> None:
    (row,) = prices(records_of(history(price_charged=None)), ["resin"]).answer()["rows"]
    assert row["floor_per_metre"] == 80
    assert row["charged_per_metre"] is None
    assert row["below_floor"] is None


def test_no_finished_work_is_said(records_of: Opener) -> None:
    found = prices(records_of({"jobs": [{"job_id": "J-1", "status": "quoted", "quoted_on": "2026-01-02"}]}))
    assert found.rows.is_empty()
    assert found.said[0] == "No finished crack of these months has its costs recorded."


def test_what_keeps_every_crack_from_having_a_cost_is_named(records_of: Opener) -> None:
    told = history(travel_minutes=None)
    cracks = [{**crack, "port_count": None if place < 4 else 10} for place, crack in enumerate(told["cracks"])]
    found = prices(records_of({**told, "cracks": cracks}), ["resin"])
    assert found.said[0] == (
        "No finished crack of these months has its costs recorded. "
        "Of 6: 4 without ports, 6 without travel (write 0 for a job that had none)."
    )


def test_only_work_of_the_months_asked_for_counts(demo: Records) -> None:
    few, many = (prices(demo, [], months=months).answer()["overall"]["cracks"] for months in (6, 24))
    assert 0 < few < many / 3


def test_what_cannot_be_asked_is_refused(demo: Records) -> None:
    with pytest.raises(LeakbackError, match="between 1 and 1200"):
        prices(demo, months=0)
    with pytest.raises(UnknownNameError, match="unknown grouping"):
        prices(demo, ["colour"])

"""Quotes checked on the demo's records, on thin ones and on none; typed, planned and from a file."""

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from statistics import median
from typing import Any

import polars as pl
import pytest

from analytics.answers import experience
from analytics.answers.flagging import flags, not_to_inject
from analytics.answers.loading import begin
from analytics.answers.quote_input import planned, typed_crack
from analytics.answers.quoting import Quotes, quote, quote_planned
from analytics.answers.records import Records
from analytics.answers.standing import Person, asking
from analytics.contract.places import shipped
from analytics.contract.policy import Policy, Prep, Prices
from analytics.decisions.costs import RatesInForce
from analytics.errors import LeakbackError
from tests.histories import CRACK, DONE_JOB

INCH = 25.4  # mm, by definition
TYPED: Mapping[str, Any] = {
    "length_m": 2.4,
    "width_mm": 0.5,
    "wall_thickness_mm": 200.0,
    "direction": "vertical",
    "water": "dry",
    "offset_mm": 0.0,
    "resin": "epoxy",
    "access": "open",
    "travel_minutes": 40.0,
    "warranty_months": 60,
}


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def of_the_plan(records: Records) -> Quotes:
    return quote_planned(records)


def one(records: Records, **values: Any) -> Any:
    return quote(records, typed_crack({**TYPED, **values})).quotes[0]


def test_every_planned_crack_has_the_contracts_keys(records: Records, of_the_plan: Quotes) -> None:
    answer = json.loads(json.dumps(of_the_plan.answer(), default=str, allow_nan=False))
    asked = records.ask("planned_cracks")
    assert [row["crack_id"] for row in answer["rows"]] == asked["crack_id"].to_list()
    for row in answer["rows"]:
        assert {"crack_id", "litres", "labour_minutes", "ports", "risk", "price", "comparable", "action"} <= row.keys()
        assert {"reasons", "low", "high"} <= row.keys()
        assert row["litres"].keys() == row["labour_minutes"].keys() == {"low", "expected", "high"}
        assert {"floor", "target"} <= row["price"].keys()
        assert len(row["comparable"]) == 10
        assert all(each["why"] for each in row["comparable"])
    told = [row for row in answer["rows"] if row["litres"]["expected"] is not None]
    assert len(told) == asked.drop_nulls("width_mm").height
    left_out = not_to_inject(records, asked)
    for row in told:
        assert row["litres"]["low"] < row["litres"]["high"]
        if row["crack_id"] in left_out:
            assert row["price"] == dict.fromkeys(row["price"])
            continue
        assert float(row["price"]["floor"]) < float(row["price"]["target"])


def test_the_floor_is_built_up_and_the_target_carries_the_margin(records: Records, of_the_plan: Quotes) -> None:
    margin = records.policy.prices.margin
    assert margin == Decimal("0.38")
    priced = [each.price for each in of_the_plan.quotes if each.price.floor is not None]
    assert len(priced) > 80
    for price in priced:
        assert price.costs is not None
        assert price.floor is not None
        assert price.leak_back_cost is not None
        assert price.target is not None
        assert price.bad_end is not None
        parts = (
            price.costs.resin + price.costs.ports + (price.costs.seal or 0) + price.costs.labour + price.costs.travel
        )
        assert price.floor == parts + price.leak_back_cost
        assert price.target * (1 - margin) == pytest.approx(price.floor)
        assert price.bad_end > price.floor


def test_flags_and_risks_are_those_of_the_flags(records: Records, of_the_plan: Quotes) -> None:
    known = {flag.crack_id: (flag.action, flag.risk) for flag in flags(records).flags}
    assert {each.crack_id: (each.flag.action, each.flag.risk) for each in of_the_plan.quotes} == known


def test_take_off_by_hand(records: Records) -> None:
    # 8 ft x 1/8 in x 8 in: 96 in3 = 1.573158 L (arithmetic); 2.44 m at 203.2 mm needs 14 ports (arithmetic)
    found = one(records, length_m=96 * INCH / 1000, width_mm=INCH / 8, wall_thickness_mm=8 * INCH)
    assert found.take_off.void_litres == pytest.approx(1.573158, abs=1e-6)
    # 6 in3 of seal a foot: 8 ft hold 48 in3 = 0.786579 L (common practice, no source; arithmetic)
    assert found.take_off.seal_litres == pytest.approx(48 * INCH**3 / 1e6, rel=1e-6)
    found = one(records, length_m=2.44, port_spacing_mm=203.2)
    assert (found.take_off.ports, found.take_off.spacing_assumed) == (14, False)
    assert found.take_off.fill_minutes == 13  # a minute to each next port: common practice, no source
    assert found.take_off.cure_hours == 24  # epoxy, about: common practice, no source
    assert one(records, resin="urethane_foam").take_off.cure_hours == 2  # foam, about: common practice, no source


@pytest.mark.parametrize(("wall_mm", "spacing_mm"), [(100.0, 150.0), (200.0, 200.0), (300.0, 250.0)])
def test_without_a_port_spacing_the_usual_one_is_counted_with_and_said(
    records: Records, wall_mm: float, spacing_mm: float
) -> None:
    # ports about the wall's thickness apart, 150 to 250 mm: common practice, no source
    found = one(records, wall_thickness_mm=wall_mm)
    assert found.take_off.spacing_mm == spacing_mm
    assert any("port spacing is given: ports are counted as far apart as the wall" in note for note in found.notes)


def test_travel_and_set_up_are_shared_over_the_cracks_of_the_job(records: Records) -> None:
    alone, shared = one(records), one(records, cracks_on_job=2)
    assert float(alone.price.costs.travel) == pytest.approx(2 * float(shared.price.costs.travel))
    # 15 min of setting up and 40 of travel: half of it each
    assert alone.hours.expected - shared.hours.expected == pytest.approx((15 + 40) / 2 / 60)


def test_what_needs_an_engineer_says_so(records: Records) -> None:
    found = one(records, direction="horizontal", width_mm=6.0)
    assert found.flag.action == "engineer_review"
    assert {"horizontal", "wide"} <= {reason.rule for reason in found.flag.reasons}
    assert one(records, direction=None).flag.action == "measure_first"


def test_a_price_finds_its_place_among_the_comparable_ones(records: Records) -> None:
    places = [one(records, price=Decimal(amount)).place for amount in (150, 420, 2000)]
    found = one(records, price=Decimal(420))
    metres = [each.finished.price_per_metre for each in found.comparable]
    here = [price * 2.4 for price in metres if price is not None]
    assert places[1].under == sum(price < 420 for price in here)
    assert (places[1].of, places[0].under, places[2].under) == (10, 0, 10)
    assert (places[1].low, places[1].middle, places[1].high) == pytest.approx((min(here), median(here), max(here)))
    floor, bad_end = found.price.floor, found.price.bad_end
    assert places[1].margin == pytest.approx(float((420 - floor) / 420))
    assert places[1].margin_bad_end == pytest.approx(float((420 - bad_end) / 420))
    assert places[0].margin < 0 < places[1].margin_bad_end < places[1].margin < places[2].margin
    assert one(records).place is None


def test_comparable_prices_are_the_jobs_shared_by_length_at_todays_wage(records: Records) -> None:
    each = one(records).comparable[0].finished
    job = each.crack_id.rsplit("-", 1)[0]
    charged = (
        pl.read_csv(shipped("data") / "jobs.csv", columns=["job_id", "price_charged"])
        .filter(pl.col("job_id") == job)["price_charged"]
        .item()
    )
    cracks = pl.read_csv(shipped("data") / "cracks.csv", columns=["job_id", "length_m"]).filter(pl.col("job_id") == job)
    assert each.price == pytest.approx(charged * each.length_m / cracks["length_m"].sum())
    rates = pl.read_csv(shipped("data") / "rates.csv", try_parse_dates=True).filter(pl.col("item") == "labour_hour")
    then = rates.filter(pl.col("effective_on") <= each.done_on).sort("effective_on")["amount"][-1]
    assert each.price_per_metre == pytest.approx(each.price / each.length_m * 69.50 / then)


def test_outside_past_work_it_names_the_measurement(records: Records) -> None:
    found = one(records, length_m=30.0)
    assert found.unlike is not None
    assert found.unlike.words.startswith("No finished crack is like this one: length 30 m (yours run ")
    assert one(records).unlike is None


def test_whole_jobs_add_up(of_the_plan: Quotes, records: Records) -> None:
    by_job: dict[str, list[Any]] = {}
    for each in of_the_plan.quotes:
        if not each.flag.unpriced:
            by_job.setdefault(each.job_id, []).append(each)
    assert {job.job_id: job.cracks for job in of_the_plan.jobs} == {job: len(each) for job, each in by_job.items()}
    quoted = dict(records.ask("planned_cracks").select("job_id", "price_quoted").unique().iter_rows())
    for job in of_the_plan.jobs:
        floors = [each.price.floor for each in by_job[job.job_id]]
        assert job.price == quoted[job.job_id]
        if None in floors:
            assert (job.floor, job.margin) == (None, None)
            continue
        assert job.floor == sum(floors)
        hours = sum(each.hours.expected for each in by_job[job.job_id])
        assert job.hours.expected == pytest.approx(hours)


def test_a_planned_cracks_price_is_its_share_of_the_jobs(records: Records) -> None:
    asked = planned(records.ask("planned_cracks")).cracks
    sums = asked.group_by("job_id").agg(pl.col("price").sum(), pl.col("price_quoted").first(), pl.len())
    for row in sums.to_dicts():
        assert abs(row["price"] - row["price_quoted"]) <= Decimal("0.01") * row["len"]


def test_a_missing_rate_is_one_sentence_and_nothing_else_is_lost(
    records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = experience.basis(records)
    amounts = {item: amount for item, amount in known.rates.amounts.items() if item != "epoxy_litre"}
    monkeypatch.setattr(experience, "basis", lambda _: replace(known, rates=RatesInForce(amounts, ("USD",))))
    epoxy, foam = one(records), one(records, resin="urethane_foam")
    assert epoxy.price.floor is None
    assert [note for note in epoxy.notes if "epoxy_litre" in note] == [
        "No price: no rate for a litre of epoxy (epoxy_litre) is in force: load one, or set it under Prices."
    ]
    assert epoxy.litres.expected is not None
    assert epoxy.minutes.expected is not None
    assert foam.price.floor is not None


def test_without_a_margin_there_is_no_target_and_a_sentence_says_how_to_have_one(records: Records) -> None:
    bare = Records(records.store, Policy(prices=Prices()), records.ask)
    found = quote(bare, typed_crack(TYPED))
    assert found.quotes[0].price.target is None
    assert found.quotes[0].price.floor is not None
    assert found.quotes[0].price.costs is not None
    assert found.quotes[0].price.costs.seal is None
    assert any("page Policy" in said for said in found.said)
    assert any("seal_kg_per_litre" in said for said in found.said)


def test_no_history_leaves_the_take_off_and_says_what_it_would_take(records_of: Callable[..., Records]) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK | {"resin": "epoxy", "resin_litres": 0.3}]})
    found = quote(records, typed_crack(TYPED))
    only = found.quotes[0]
    untold = [only.litres.expected, only.minutes.expected, only.price.floor, only.flag.risk]
    assert untold == [None] * 4
    assert only.take_off.ports == 13
    assert only.take_off.void_litres == pytest.approx(0.24)
    assert sum("more would do" in said for said in found.said) == 2
    assert any("Leak-backs are not in the floor" in said for said in found.said)
    assert len(only.comparable) == 1
    json.dumps(found.answer(), default=str, allow_nan=False)


def test_what_a_new_store_cannot_tell_is_said_in_whole_sentences(store_path: Path) -> None:
    assert begin(store_path)
    found = quote(Records.of(store_path), typed_crack(TYPED))
    assert any("no finished work is loaded yet" in said for said in found.said)
    assert [said for said in found.said if not said.endswith(".")] == []


def test_nothing_loaded_still_answers(records_of: Callable[..., Records]) -> None:
    records = records_of({"jobs": [{"job_id": "Q1", "status": "quoted", "quoted_on": "2024-01-02"}]})
    only = quote(records, typed_crack(TYPED)).quotes[0]
    assert only.comparable == ()
    assert only.unlike is None
    assert only.take_off.ports == 13
    assert quote_planned(records).quotes == []


def test_a_level_lies_between_0_and_1(records: Records) -> None:
    for level in (0.0, 1.0, 1.5, float("nan")):
        with pytest.raises(LeakbackError, match="level"):
            quote(records, typed_crack(TYPED), level=level)
    narrow, wide = (quote(records, typed_crack(TYPED), level=level).quotes[0].litres for level in (0.5, 0.95))
    assert wide.low < narrow.low < narrow.high < wide.high  # type: ignore[operator]


def test_what_was_learnt_is_kept_until_the_records_change(records_of: Callable[..., Records], store_path: Path) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    first = experience.basis(records)
    assert experience.basis(Records.of(store_path)) is first
    later = records_of(
        {"jobs": [DONE_JOB | {"job_id": "J-2"}], "cracks": [CRACK | {"crack_id": "K-2", "job_id": "J-2"}]}
    )
    assert experience.basis(later) is not first
    assert experience.basis(later).reference.cracks.height == 2


def test_what_a_reader_who_may_not_fit_was_told_is_not_told_to_who_may(records_of: Callable[..., Records]) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    with asking(Person("viewer", "vera@example.org")):
        read = experience.basis(records)
    with asking(Person("owner", "olga@example.org")):
        assert experience.basis(records) is not read


def test_whether_prep_pays_hangs_on_the_warranty_not_on_the_months_shown(records: Records) -> None:
    cheap = Prep(minutes_per_crack=3, material_per_crack=Decimal("0.50"))
    asked = replace(records, policy=records.policy.model_copy(update={"prep": cheap}))
    near, far = ({flag.crack_id: flag.action for flag in flags(asked, months=months).flags} for months in (6, 120))
    assert near == far
    assert any(reason.rule == "prep_pays" for flag in flags(asked).flags for reason in flag.reasons)

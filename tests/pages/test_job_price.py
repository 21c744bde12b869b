"""What a planned job should cost, on its page: every crack, the whole, what is left out, and who sees it."""

import json
import shutil
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.flagging import flags
from analytics.answers.loading import load
from analytics.answers.quoting import quote_job
from analytics.answers.records import Records, policy_path
from analytics.cli import run
from analytics.contract.policy import Policy, Prices
from analytics.contract.roles import ROLES
from analytics.intake import private_path
from analytics.pages import job_price, upcoming
from analytics.pages.job import of_job
from analytics.pages.page import Figure, Figures, Section, Table, Words
from analytics.render import dashboard
from tests.histories import TODAY, Tables, write_tables

THIN, ENDS = "\u202f", ("_low", "", "_high")
JOB = {
    "status": "planned", "quoted_on": "2026-10-20", "planned_on": "2026-12-10", "access": "open", "crew_id": "C03",
    "travel_minutes": 40, "price_quoted": 1200, "warranty_months": 60,
}  # fmt: skip
CRACK = {
    "length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200, "direction": "vertical", "water": "damp",
    "movement": "still", "offset_mm": 0, "resin": "urethane_foam", "port_spacing_mm": 200, "wall_temp_c": 15,
}  # fmt: skip
NARROW, MIXED = {"width_mm": 0.04}, ("J-9001", "J-9002", "J-9003")
DECIDED = {"review_id": "R-9001", "crack_id": "J-9003-1", "asked_on": "2026-10-21", "decided_on": "2026-10-25"}
MORE: Tables = {
    "jobs": [{**JOB, "job_id": job_id} for job_id in MIXED],
    "cracks": [
        {**CRACK, "crack_id": "J-9001-1", "job_id": "J-9001"},
        {**CRACK, "crack_id": "J-9001-2", "job_id": "J-9001", **NARROW},
        {**CRACK, "crack_id": "J-9001-3", "job_id": "J-9001", "direction": "horizontal"},
        {**CRACK, "crack_id": "J-9002-1", "job_id": "J-9002", **NARROW},
        {**CRACK, "crack_id": "J-9003-1", "job_id": "J-9003"},
        {**CRACK, "crack_id": "J-9003-2", "job_id": "J-9003", "length_m": 1.5},
    ],
    "reviews": [{**DECIDED, "decision": "monitor", "reference": "L-1"}],
}


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def mixed(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Records:
    """The demo's records with jobs of which some cracks are not to be injected."""
    folder = tmp_path_factory.mktemp("mixed")
    store = folder / "copy.duckdb"
    for path_of in (Path, private_path, policy_path):
        shutil.copyfile(path_of(demo_store), path_of(store))
    load(store, [write_tables(folder / "files", MORE)], today=TODAY, strict=True)
    return Records.of(store)


def priced(records: Records, job_id: str) -> Section:
    parts = upcoming.build(records, {"job_id": job_id}).parts
    [section] = [part for part in parts if isinstance(part, Section) and part.title == job_price.TITLE]
    return section


def sentences(section: Section) -> list[str]:
    return [part.text for part in section.parts if isinstance(part, Words)]


def rows(section: Section) -> dict[str, dict[str, Any]]:
    [table] = [part for part in section.parts if isinstance(part, Table)]
    return {row["crack_id"]: row for row in table.rows.to_dicts()}


def totals(section: Section) -> dict[str, Figure]:
    [figures] = [part for part in section.parts if isinstance(part, Figures)]
    return {row.label: row for row in figures.rows}


def planned(store: Path, capsys: pytest.CaptureFixture[str]) -> Mapping[str, Any]:
    assert run(["quote", "--planned", "--format", "json", "--store", str(store)]) == 0
    return dict(json.loads(capsys.readouterr().out))


def test_every_amount_of_its_table_has_its_currency(records: Records) -> None:
    [table] = [part for part in priced(records, "J-5047").parts if isinstance(part, Table)]
    assert {each.unit for each in table.columns if each.key in {"floor", "bad_end", "target"}} == {"USD"}


def test_every_jobs_figures_and_totals_are_the_commands(
    records: Records, demo_store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = planned(demo_store, capsys)
    left_out = {flag.job_id for flag in flags(records).flags if flag.unpriced}
    jobs = {job["job_id"]: job for job in said["jobs"] if job["job_id"] not in left_out}
    several = [job_id for job_id, job in jobs.items() if job["cracks"] > 1 and job["price"]["floor"] is not None]
    assert len(several) > 20
    for job_id in ("J-5047", *several[:4]):
        section, job = priced(records, job_id), jobs[job_id]
        own = {row["crack_id"]: row for row in said["rows"] if row["job_id"] == job_id}
        shown = rows(section)
        assert shown.keys() == own.keys()
        for crack_id, row in own.items():
            each = shown[crack_id]
            assert [each[f"litres{end}"] for end in ENDS] == pytest.approx(list(row["litres"].values()))
            assert [each[f"minutes{end}"] for end in ENDS] == pytest.approx(list(row["labour_minutes"].values()))
            assert (each["needs"], each["ports"]) == (row["action"], row["ports"])
            for name in ("floor", "target", "bad_end"):
                assert each[name] == pytest.approx(float(row["price"][name]), abs=0.006)
        whole = totals(section)
        assert whole["resin"].value == pytest.approx(sum(row["litres"]["expected"] for row in own.values()))
        hours = sum(row["job_hours"]["expected"] for row in own.values())
        assert whole[job_price.WORK].value == pytest.approx(hours)
        for name in ("floor", "target"):
            added = sum(float(row["price"][name]) for row in own.values())
            assert float(whole[name].value) == pytest.approx(added, abs=0.01 * len(own))  # type: ignore[arg-type]
            assert (whole[name].low, whole[name].high) == (None, None)
        ends = (whole["resin"].low, whole["resin"].high)
        assert ends == pytest.approx((job["litres"]["low"], job["litres"]["high"]))
        assert whole["price quoted"].value == Decimal(job["price_quoted"])
        assert whole["margin left"].value == pytest.approx(job["margin"])


def test_a_whole_jobs_ends_are_not_the_cracks_added_up(records: Records) -> None:
    section = priced(records, "J-5047")
    resin = totals(section)["resin"]
    assert resin.low is not None
    assert resin.low > sum(row["litres_low"] for row in rows(section).values())
    assert resin.note == "80\u202f% interval of whole jobs, not the cracks' ends added up"
    [cracks] = [part for part in section.parts if isinstance(part, Table)]
    assert cracks.note.startswith("What each crack takes and costs, injected as planned. The intervals hold 80\u202f% ")


def test_what_an_engineer_sees_first_is_said_before_any_price(records: Records) -> None:
    page = upcoming.build(records, {"job_id": "J-5047"})
    assert page.answer.endswith("an engineer looks first.")
    first, answer, *_ = sentences(priced(records, "J-5047"))
    assert first.endswith(
        "Stop: an engineer looks first. Do not inject before the decision is recorded: J-5047-1, J-5047-2, J-5047-3."
    )
    assert answer.startswith("Its 3 cracks together: 7.67")
    assert f" not under 1{THIN}101{THIN}USD, aim for " in answer
    assert answer.endswith(f" left at 1{THIN}820{THIN}USD.")


def test_a_job_of_one_crack_is_that_crack(records: Records) -> None:
    section = priced(records, "J-4955")
    [row], whole = rows(section).values(), totals(section)
    assert (whole["resin"].low, whole["resin"].high) == (row["litres_low"], row["litres_high"])
    assert whole["resin"].note == "80\u202f% interval"
    assert any(text.startswith("J-4955-1: no finished crack is like this one: ") for text in sentences(section))


def test_where_one_crack_cannot_be_priced_the_whole_is_not_either(records: Records) -> None:
    section = priced(records, "J-5016")
    said, whole = sentences(section), totals(section)
    assert said[0].endswith("Measure first: nothing is injected before it is measured and looked at again: J-5016-1.")
    assert said[1].endswith("; no price together, as J-5016-1 has none.")
    assert "J-5016-1: not recorded: width; without it litres and price cannot be told." in said
    assert (whole["floor"].value, whole["floor"].note, whole["resin"].value) == (None, "", None)
    assert "margin left" not in whole


def test_a_crack_that_is_not_one_to_inject_is_left_out_and_the_whole_says_so(mixed: Records) -> None:
    section = priced(mixed, "J-9001")
    stop, gone, answer, *_ = sentences(section)
    assert stop.endswith("Do not inject before the decision is recorded: J-9001-3.")
    assert gone.startswith("Left out, without a price: J-9001-2, 0.04 mm wide: too narrow to inject")
    assert answer.startswith("2 of 3 cracks, without J-9001-2: ")
    shown, whole = rows(section), totals(section)
    left = shown.pop("J-9001-2")
    assert left["needs"] == "do_not_inject"
    assert {value for name, value in left.items() if name not in {"crack_id", "needs"}} == {None}
    assert float(whole["floor"].value) == pytest.approx(sum(row["floor"] for row in shown.values()))  # type: ignore[arg-type]
    assert whole["price quoted"].note == "for all 3 cracks, so no margin is told of 2 of them"
    assert "margin left" not in whole
    assert " left at " not in answer


def test_travel_and_set_up_of_a_job_fall_on_the_cracks_priced(mixed: Records) -> None:
    found = quote_job(mixed, "J-9001")
    assert [each.crack_id for each in found.quotes] == ["J-9001-1", "J-9001-3"]
    for each in found.quotes:
        assert each.hours.expected is not None
        assert each.minutes.expected is not None
        # 15 min of setting up and 40 of travel, half of it each
        assert 60 * each.hours.expected - each.minutes.expected == pytest.approx((15 + 40) / 2)


def test_an_engineers_decision_leaves_a_crack_out(mixed: Records) -> None:
    section = priced(mixed, "J-9003")
    assert sentences(section)[0].startswith("Left out, without a price: J-9003-1, the engineer decided on 25 October ")
    assert list(rows(section)) == ["J-9003-1", "J-9003-2"]
    assert totals(section)["resin"].value == rows(section)["J-9003-2"]["litres"]


def test_a_job_without_a_crack_to_inject_has_no_price(mixed: Records) -> None:
    section = priced(mixed, "J-9002")
    assert sentences(section)[-1] == "No crack of this job is one to inject, so it has no price here."
    assert not [part for part in section.parts if isinstance(part, Table | Figures)]


def test_without_a_margin_the_existing_sentence_says_so(records: Records) -> None:
    bare = Records(records.store, Policy(prices=Prices()), records.ask)
    own = [flag for flag, _ in of_job(flags(bare), "J-5047")]
    section = job_price.section(quote_job(bare, "J-5047"), own)
    assert totals(section)["target"].value is None
    assert "aim for" not in sentences(section)[1]
    assert any("page Policy" in text for text in sentences(section))


@pytest.mark.parametrize("role", ROLES)
def test_who_may_check_a_quote_sees_the_jobs_price(demo_store: Path, role: Any) -> None:
    parts = dashboard.page(demo_store, "upcoming", role, {"job_id": "J-5047"}).parts
    shown = [part for part in parts if isinstance(part, Section) and part.title == job_price.TITLE]
    assert bool(shown) == (role != "lead")


def test_a_job_of_one_crack_without_a_price_says_no_more_than_that(records: Records) -> None:
    said = sentences(priced(records, "J-4999"))
    assert said[1].endswith(" of work; no price.")

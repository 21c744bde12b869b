"""The page Record, and the forms on a planned job: what is asked for, what is handed in."""

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import flagging, modelling
from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.intake import private_path
from analytics.pages import record, upcoming, within
from analytics.pages.asking import ask
from analytics.pages.form import TODAY, Form
from analytics.pages.page import Figure, Figures, Folded, Page, Part, Section, Table
from analytics.render import terminal
from tests.answers.test_currencies import changed_over
from tests.histories import CRACK, DONE_JOB


@pytest.fixture
def store(demo_store: Path, tmp_path: Path) -> Path:
    """A copy of the demo to write in."""
    path = tmp_path / "copy.duckdb"
    shutil.copyfile(demo_store, path)
    shutil.copyfile(private_path(demo_store), private_path(path))
    return path


def forms(page: Page) -> dict[str, Form]:
    found: dict[str, Form] = {}

    def walk(part: Part) -> None:
        if isinstance(part, Form):
            assert part.key not in found
            found[part.key] = part
        elif isinstance(part, Section | Folded):
            for inner in part.parts:
                walk(inner)

    for part in page.parts:
        walk(part)
    return found


def filled(form: Form, **typed: str) -> dict[str, str]:
    """What the screen hands in where only ``typed`` was touched."""
    defaults = {f.key: date(2026, 10, 31).isoformat() if f.default == TODAY else f.default for f in form.fields}
    assert typed.keys() <= defaults.keys()
    return defaults | typed


def figures(page: Page, crack_id: str) -> tuple[Figure, ...]:
    """The figures of one crack of a finished job."""
    [of_crack] = [part for part in page.parts if isinstance(part, Section) and part.title.endswith(f": {crack_id}")]
    [shown] = [part for part in of_crack.parts if isinstance(part, Figures)]
    return shown.rows


def test_a_finished_job_is_shown_as_it_was_written_down_and_how_it_has_held(demo_store: Path) -> None:
    records = Records.of(demo_store)
    leaked = (
        records.ask("follow_up").filter("leaked_back", pl.col("watched_days") > 90).sort("crack_id").row(0, named=True)
    )
    page = record.build(records, {"job_id": leaked["job_id"]})
    assert f", crew {leaked['crew_id']}: " in page.answer
    shown = {figure.label: figure for figure in figures(page, leaked["crack_id"])}
    months = round(leaked["watched_days"] / 365.25 * 12)
    assert shown["since the repair"].value == f"leaked back after {months} months"
    for label, column in {"resin used": "resin_litres", "labour": "labour_minutes", "width": "width_mm"}.items():
        assert shown[label].value == leaked[column]
    assert shown["dried first"].value == {True: "yes", False: "no"}[leaked["dried"]]
    [calls] = [part for part in within.every_part(page.parts) if isinstance(part, Table)]
    assert "leak back" in calls.rows["finding"].to_list()
    assert [column.unit for column in calls.columns if column.kind == "money"] == ["USD"]


def test_a_planned_job_shows_its_cracks_and_opens_to_what_they_need_without_a_model(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    records = Records.of(demo_store)
    planned = records.ask("planned_cracks").sort("crack_id").row(0, named=True)
    monkeypatch.setattr(modelling, "current", None)
    page = record.build(records, {"job_id": planned["job_id"]})
    [table] = [part for part in within.every_part(page.parts) if isinstance(part, Table)]
    assert table.rows.row(0, named=True)["width_mm"] == planned["width_mm"]
    assert [column.link for column in table.columns if column.key == "job_id"] == ["upcoming"]


def test_what_is_said_of_every_crack_called_about_is_what_its_calls_say(demo_store: Path) -> None:
    records = Records.of(demo_store)
    placed = records.ask("placed_leak_backs").sort("reported_on", "callback_id")
    first = {row["crack_id"]: row for row in reversed(placed.to_dicts())}
    rare = [c for c, call in first.items() if call["placed_by_rule"]]
    leaked = records.ask("follow_up").filter("leaked_back")["crack_id"].to_list()
    late = [crack for crack in first if crack not in leaked]
    twice = placed.filter(pl.len().over("crack_id") > 1, "placed_by_rule")["crack_id"].to_list()
    jobs = {row["crack_id"]: row["job_id"] for row in placed.to_dicts()}
    assert rare
    assert late
    assert twice
    for crack in {*rare[:3], *late[:3], *twice}:
        told = figures(record.build(records, {"job_id": jobs[crack]}), crack)[0]
        assert ("by rule" in told.note) == (crack in rare and crack in leaked)
        assert ("once its warranty had ended" in told.note) == (crack in late)
        assert " 0 " not in str(told.value).replace("\u202f", " ")


def test_what_waits_is_counted_and_linked(demo_store: Path) -> None:
    records = Records.of(demo_store)
    page = record.build(records, {})
    waiting = records.ask("unplaced_leak_backs").height
    assert page.answer == f"8 calls wait for a finding, {waiting} leak-backs for their crack."
    assert forms(page)["new-job"].verb == "Plan this job"


def test_that_nothing_waits_is_said(records_of: Callable[..., Records]) -> None:
    assert record.build(records_of({"jobs": [DONE_JOB]}), {}).answer == "Nothing waits to be written down."


def test_a_done_job_takes_a_call_and_its_findings(store: Path) -> None:
    records = Records.of(store)
    [*_, unplaced] = records.ask("unplaced_leak_backs").to_dicts()
    page = record.build(records, {"job_id": unplaced["job_id"]})
    form = forms(page)[f"call-{unplaced['callback_id']}"]
    said = form.submit(filled(form, crack_id=unplaced["crack_id"]))
    assert said.startswith(f"Recorded: call {unplaced['callback_id']} is changed.")
    after = Records.of(store)
    assert unplaced["callback_id"] not in after.ask("unplaced_leak_backs")["callback_id"].to_list()
    new = forms(record.build(after, {"job_id": unplaced["job_id"]}))["new-call"]
    assert new.submit(filled(new, finding="surface_only")).startswith("Recorded: call K-0657 about job")


def test_a_planned_job_is_changed_closed_and_decided_where_it_is_shown(store: Path) -> None:
    records = Records.of(store)
    job_id = records.ask("planned_cracks")["job_id"][0]
    page = upcoming.build(records, {"job_id": job_id})
    asked = forms(page)
    assert {"job", "closing", "new-crack", f"crack-{job_id}-1", f"decision-{job_id}-1"} <= asked.keys()
    with pytest.raises(LeakbackError, match="Nothing recorded"):
        asked["job"].submit(filled(asked["job"]))
    closing = asked["closing"]
    work = {f"{job_id}-1.resin_litres": "0.8", "price_charged": "500"}
    with pytest.raises(LeakbackError, match="no decision to inject is recorded"):
        closing.submit(filled(closing, **work))
    closing.submit(filled(closing, undecided="yes", **work))
    after = record.build(Records.of(store), {"job_id": job_id})
    assert after.answer.startswith(f"Job {job_id}, done on 31 October 2026, crew ")
    [used] = [figure.value for figure in figures(after, f"{job_id}-1") if figure.label == "resin used"]
    assert used == 0.8


def test_an_engineers_answer_may_be_for_every_crack_of_the_job(store: Path) -> None:
    planned = Records.of(store).ask("planned_cracks").group_by("job_id").len().sort("len", "job_id")
    alone, several = planned["job_id"][0], planned["job_id"][-1]
    form = forms(upcoming.build(Records.of(store), {"job_id": alone}))[f"decision-{alone}-1"]
    assert "whole_job" not in filled(form)
    form = forms(upcoming.build(Records.of(store), {"job_id": several}))[f"decision-{several}-1"]
    said = form.submit(filled(form, decision="inject", whole_job="yes"))
    assert said.startswith(f"Recorded: the engineer's decision on crack {several}-1")


def test_a_new_job_is_planned_with_as_many_cracks_as_asked_for(store: Path) -> None:
    form = forms(record.build(Records.of(store), {"cracks": "2"}))["new-job"]
    said = form.submit(filled(form, planned_on="2026-12-01", **{"1.length_m": "2.4", "2.length_m": "1.1"}))
    assert said.startswith("Recorded: job J-5085 is planned.")
    assert form.opens is not None
    assert form.opens(filled(form)) == "record?job_id=J-5085"
    planned = Records.of(store).ask("planned_cracks")
    assert planned.filter(planned["job_id"] == "J-5085")["length_m"].sort().to_list() == [1.1, 2.4]


def test_the_last_entry_can_be_taken_back_until_files_are_loaded(store: Path) -> None:
    assert not any(key.startswith("take-back") for key in forms(record.build(Records.of(store), {})))
    form = forms(record.build(Records.of(store), {}))["new-job"]
    form.submit(filled(form, planned_on="2026-12-01"))
    [back] = [each for key, each in forms(record.build(Records.of(store), {})).items() if key.startswith("take-back")]
    assert back.note.startswith("Planned job (job J-5085, crack J-5085-1); recorded on ")
    assert back.key in forms(record.build(Records.of(store), {"job_id": "J-5085"}))
    assert back.needs == "undo"
    assert back.submit({}).startswith("Taken back: planned job (job J-5085, crack J-5085-1).")
    assert JobRows.of(Records.of(store), "J-5085").job is None


def test_a_job_that_was_only_quoted_can_be_planned(store: Path) -> None:
    records = Records.of(store)
    quoted = records.store.frame("select job_id from jobs where status = 'quoted' order by 1 limit 1").item()
    form = forms(record.build(records, {"job_id": quoted}))["job"]
    form.submit(filled(form, planned_on="2026-12-02"))
    assert record.build(Records.of(store), {"job_id": quoted}).answer.startswith(f"Job {quoted}, planned for Wed 2 Dec")


def test_a_planned_job_says_its_crew(demo_store: Path) -> None:
    planned = record.build(Records.of(demo_store), {"job_id": "J-5011"})
    assert planned.answer == "Job J-5011, planned for Mon 2 Nov, crew C01: 1 crack."


def test_a_finding_is_asked_for_in_the_order_of_a_new_call(demo_store: Path) -> None:
    found = forms(record.build(Records.of(demo_store), {"job_id": "J-5020"}))
    new, old = ([field.key for field in found[key].fields] for key in ("new-call", "call-K-0652"))
    assert new == ["callback_id", "reported_on", *old]


def test_a_job_nobody_knows_is_said(demo_store: Path) -> None:
    assert record.build(Records.of(demo_store), {"job_id": "J-x"}).answer == "No job J-x is loaded."


def test_every_field_is_asked_for_as_the_contract_declares_it() -> None:
    for table, schema in TABLES.items():
        for name, column in schema.columns().items():
            field = ask(table, name)
            assert field.key == name
            assert field.help.startswith(column.description or "")
            assert (field.kind == "day") == name.endswith("_on")
    assert list(ask("cracks", "water").options) == ["", "dry", "damp", "seeping", "running"]
    assert next(iter(ask("jobs", "status").options)) == "quoted"
    assert ask("cracks", "dried").options == {"": "not recorded", "true": "yes", "false": "no"}
    assert ask("cracks", "length_m").unit == "m"


def test_forms_are_for_the_screen_only(demo_store: Path, capsys: pytest.CaptureFixture[str]) -> None:
    terminal.show(record.build(Records.of(demo_store), {}))
    said = capsys.readouterr().out
    assert "8 calls wait for a finding" in said
    assert "Plan this job" not in said


@pytest.mark.parametrize("typed", ["j-{}", "{}", " J-{}-1 ", "j-{}-1"])
def test_a_number_typed_by_heart_finds_its_job(demo_store: Path, typed: str) -> None:
    records = Records.of(demo_store)
    job_id = records.ask("planned_cracks")["job_id"][0]
    found = record.build(records, {"job_id": typed.format(job_id.removeprefix("J-"))})
    assert found.answer.startswith(f"Job {job_id}, planned for ")


def test_at_the_number_of_a_planned_job_stands_who_looks_first(demo_store: Path) -> None:
    records = Records.of(demo_store)
    flagged = next(flag for flag in flagging.flags(records).flags if flag.action == "engineer_review")
    first = record.build(records, {"job_id": flagged.job_id}).parts[0]
    assert isinstance(first, Section)
    assert first.title.endswith(": an engineer looks first")


@pytest.mark.parametrize(("known", "offered"), [(("J-2-1", "J-2-3"), "J-2-4"), (("K-7",), "J-2-2"), ((), "J-2-1")])
def test_another_crack_is_offered_a_number_that_none_of_the_job_has(
    records_of: Callable[..., Records], known: tuple[str, ...], offered: str
) -> None:
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2026-11-20"}
    cracks = [{**CRACK, "job_id": "J-2", "crack_id": number} for number in known]
    records = records_of({"jobs": [planned]} | ({"cracks": cracks} if cracks else {}))
    shown = forms(record.build(records, {"job_id": "J-2"}))
    assert {field.key: field.default for field in shown["new-crack"].fields}["crack_id"] == offered


def test_amounts_are_asked_for_in_the_currency_of_the_rates(store: Path) -> None:
    records = Records.of(store)
    planned = records.ask("planned_cracks")["job_id"][0]
    called = records.ask("placed_leak_backs")["job_id"][0]
    asked = [
        field
        for page in (record.build(records, {}), *(record.build(records, {"job_id": job}) for job in (planned, called)))
        for form in forms(page).values()
        for field in form.fields
        if field.key.rpartition(".")[2] in {"price_quoted", "price_charged", "material_cost"}
    ]
    assert {field.key for field in asked} == {"price_quoted", "price_charged", "material_cost"}
    assert {field.unit for field in asked} == {"USD"}


def test_an_amount_of_the_old_money_is_shown_in_it(records_of: Callable[..., Records]) -> None:
    told = changed_over()
    again = {**told["callbacks"][0], "callback_id": "B-3", "reported_on": "2024-07-01", "material_cost": 9}
    quoted = {**told["jobs"][4], "status": "quoted", "done_on": None, "price_charged": None}
    jobs = [*told["jobs"][:4], quoted, told["jobs"][5]]
    records = records_of({**told, "jobs": jobs, "callbacks": [*told["callbacks"], again]})
    page = record.build(records, {"job_id": "J-0"})
    unit = {key: field.unit for key, form in forms(page).items() for field in form.fields if "material" in field.key}
    assert unit == {"new-call": "USD", "call-B-1": "EUR", "call-B-3": "USD"}
    [calls] = [part for part in within.every_part(page.parts) if isinstance(part, Table) and "Calls" in part.title]
    assert dict(calls.rows.select("callback_id", "currency").iter_rows()) == {"B-1": "EUR", "B-3": "USD"}
    assert [(each.unit, each.under) for each in calls.columns if each.key == "material_cost"] == [("", "currency")]
    fields = [field for form in forms(record.build(records, {"job_id": "J-4"})).values() for field in form.fields]
    assert {field.unit for field in fields if field.key == "price_quoted"} == {"EUR"}


@pytest.mark.parametrize("name", ["new-call", "call"])
def test_an_amount_typed_in_another_currency_is_not_recorded(store: Path, name: str) -> None:
    called = Records.of(store).ask("placed_leak_backs").row(0, named=True)
    shown = forms(record.build(Records.of(store), {"job_id": called["job_id"]}))
    form = shown[name if name in shown else f"{name}-{called['callback_id']}"]
    typed = {field.key: field.default for field in form.fields} | {"material_cost": "900 EUR"}
    with pytest.raises(LeakbackError, match="is typed in EUR, and asked for in USD"):
        form.submit(typed)

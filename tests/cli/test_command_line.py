"""The command line as a person or a program meets it, on the demo."""

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from analytics.answers import loading, modelling
from analytics.answers.records import Records
from analytics.cli import run
from analytics.cli.commands import leakback
from tests.cli.calling import Call, answer
from tests.histories import DONE_JOB, write_tables


def test_measure_gives_the_contracts_keys(call: Call) -> None:
    found = answer(call, "measure", "leak_back_rate", "--by", "resin,season", "--months", "24", "--level", "0.9")
    assert {"metric", "unit", "as_of", "rows"} <= found.keys()
    assert len(found["rows"]) == 8
    for row in found["rows"]:
        assert {"resin", "season", "cracks", "value", "low", "high", "events"} <= row.keys()
        assert row["low"] <= row["value"] <= row["high"]


@pytest.mark.parametrize("metric", ["material_per_metre", "take_ratio", "labour_per_crack", "labour_per_metre"])
def test_every_metric_answers_by_crew_with_counts(call: Call, metric: str) -> None:
    rows = answer(call, "measure", metric, "--by", "crew")["rows"]
    assert len(rows) == 12
    assert all(row["cracks"] > 0 and row["value"] > 0 for row in rows)


def test_a_column_name_is_as_good_as_a_groupings_and_its_key_is_as_it_was_asked(call: Call) -> None:
    by_name = answer(call, "measure", "labour_per_crack", "--by", "crew")["rows"]
    by_column = answer(call, "measure", "labour_per_crack", "--by", "crew_id")["rows"]
    assert [{"crew_id": row.pop("crew"), **row} for row in by_name] == by_column


def test_only_narrows(call: Call) -> None:
    whole = answer(call, "measure", "take_ratio", "--by", "water,resin")["rows"]
    part = answer(call, "measure", "take_ratio", "--by", "resin", "--only", "water=seeping")["rows"]
    assert [row["value"] for row in part] == [row["value"] for row in whole if row["water"] == "seeping"]


def test_flags_give_every_planned_crack_its_action_reasons_and_sources(call: Call) -> None:
    everything = answer(call, "flags", "--all")["rows"]
    pressing = answer(call, "flags")["rows"]
    actions = {"engineer_review", "extra_prep", "measure_first", "standard"}
    assert {row["action"] for row in everything} == actions
    assert {row["action"] for row in pressing} == actions - {"standard"}
    for row in everything:
        assert {"job_id", "crack_id", "action", "risk", "low", "high", "reasons"} <= row.keys()
        assert 0 < row["low"] <= row["risk"] <= row["high"] < 1
        assert row["action"] == "standard" or row["reasons"]
        assert all({"rule", "text", "source"} <= reason.keys() and reason["source"] for reason in row["reasons"])


def test_fit_says_what_was_chosen_and_on_what(call: Call) -> None:
    found = answer(call, "fit")
    assert {"chosen", "scores", "trained_on"} <= found.keys()
    assert found["trained_on"]["leak_backs"] == 452


@pytest.mark.parametrize("words", ["flags", "crews", "reserve", "quote --planned", "prices --by resin"])
def test_a_command_that_fits_the_model_says_so_whatever_the_form(
    call: Call, demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str
) -> None:
    store = Path(shutil.copy(demo_store, tmp_path / "older.duckdb"))
    model = modelling.current(Records.of(demo_store)).model
    monkeypatch.setattr(modelling, "_kept", lambda _: None)
    monkeypatch.setattr(modelling, "_train", lambda _: model)
    for form in ("text", "csv", "json"):
        code, out, err = call(*words.split(), "--format", form, store=store)
        assert (code, err) == (0, f"leakback: {modelling.FITTED_NOW}\n")
        assert form != "json" or json.loads(out)


def test_a_load_gives_the_contracts_keys_and_counts_every_row(call: Call, tmp_path: Path) -> None:
    no_day = {"job_id": "J-2", "status": "done", "crew_id": "C1"}
    folder = write_tables(tmp_path / "files", {"jobs": [DONE_JOB, no_day]})
    code, out, _ = call("load", str(folder), "--format", "json", store=tmp_path / "new.duckdb")
    found = json.loads(out)
    assert code == 0
    assert {"batch", "as_of", "tables", "dropped_columns"} <= found.keys()
    assert found["tables"]["jobs"] == {"read": 2, "loaded": 1, "unchanged": 0, "rejected": 1}
    rejects = json.loads(call("rejects", "--format", "json", store=tmp_path / "new.duckdb")[1])["rows"]
    assert {"table", "file", "row", "column", "reason"} <= rejects[0].keys()
    work_list = ["rejects", "--format", "csv", "--output", str(tmp_path / "to-mend.csv")]
    assert call(*work_list, store=tmp_path / "new.duckdb")[1].startswith("Wrote 1 faulty cell to ")
    undone = json.loads(call("undo", "--format", "json", store=tmp_path / "new.duckdb")[1])
    assert (undone["batch"], undone["tables"]["jobs"]) == (1, 1)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["measure", "leak_back_rat"], "did you mean leak_back_rate?"),
        (["measure", "leak_back_rate", "--by", "reson"], "did you mean resin?"),
        (["measure", "leak_back_rate", "--only", "watr=dry"], "did you mean water?"),
        (["measure", "leak_back_rate", "--only", "water"], "KEY=VALUE"),
        (["measure", "leak_back_rate", "--by", "resin,resin"], "name each grouping once"),
        (["measure", "leak_back_rate", "--by", "crew,crew_id"], "name each grouping once"),
        (["prices", "--by", "resin,resin"], "name each grouping once"),
        (["measure", "leak_back_rate", "--only", "water=seepin"], "did you mean seeping?"),
        (["measure", "leak_back_rate", "--only", "resin=foam"], "it is one of epoxy, urethane_foam"),
        (["measure", "leak_back_rate", "--level", "1.5"], "between 0 and 1"),
        (["measure", "leak_back_rate", "--months", "0"], "between 1 and 1200"),
        (["flags", "--months", "0"], "between 1 and 1200"),
        (["flags", "--level", "95"], "between 0 and 1"),
        (["prices", "--months", "0"], "between 1 and 1200"),
        (["measure", "leak_back_rate", "--as-of", "31/12/2024"], "--as-of"),
        (["reserve", "--since", "31/12/2024"], "“31/12/2024” is not a day written YYYY-MM-DD, as 2026-03-17"),
        (["sheet", "--planned-week", "2026-02-30"], "is not a day written YYYY-MM-DD, as 2026-03-17"),
        (["load", "nowhere"], "no such file or folder"),
        (["flgs"], "Did you mean 'flags'?"),
        (["flags", "--mnths", "3"], "Did you mean '--months'?"),
    ],
)
def test_a_wrong_call_is_one_line_and_exit_2(call: Call, words: list[str], said: str) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


@pytest.mark.parametrize("words", ["prices --level 7", "reserve --level 0", "measure take_ratio --level 95"])
def test_a_wrong_call_is_one_before_anything_is_loaded_too(call: Call, store_path: Path, words: str) -> None:
    loading.begin(store_path)
    code, out, err = call(*words.split(), store=store_path)
    assert (code, out) == (2, "")
    assert "between 0 and 1" in err


def test_only_what_was_not_recorded_can_be_asked_for(call: Call) -> None:
    [row] = answer(call, "measure", "leak_back_rate", "--only", "movement=not recorded")["rows"]
    assert row["cracks"] > 0


def test_a_missing_store_is_one_line_and_exit_2(call: Call, tmp_path: Path) -> None:
    for words in (["measure", "take_ratio"], ["flags"], ["fit"], ["rejects"], ["undo"]):
        code, out, err = call(*words, store=tmp_path / "none.duckdb")
        assert (code, out, err.count("\n")) == (2, "", 1)
        assert "leakback load" in err
    assert not (tmp_path / "none.duckdb").exists()


def test_an_unexpected_fault_shows_no_traceback_and_keeps_it(
    call: Call, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr("analytics.answers.measuring.measure", lambda *_, **__: 1 / 0)
    code, out, err = call("measure", "take_ratio")
    assert (code, out, err.count("\n")) == (1, "", 1)
    assert "Traceback" not in err
    assert "ZeroDivisionError" in (tmp_path / "leakback" / "leakback.log").read_text()


@pytest.mark.parametrize(
    "words", ["measure leak_back_rate --by resin", "flags", "quote --planned", "crews", "reserve", "prices"]
)
def test_csv_has_the_same_header_without_a_row(call: Call, store_path: Path, words: str) -> None:
    loading.begin(store_path)
    header, *rows = call(*words.split(), "--format", "csv")[1].splitlines()
    assert rows
    assert call(*words.split(), "--format", "csv", store=store_path) == (0, f"{header}\n", "")


def test_csv_has_a_header_where_nothing_is_the_matter(call: Call, store_path: Path) -> None:
    loading.begin(store_path)
    for words, header in (
        ("check", "part,said"),
        ("people list", "name,role,code,does"),
        ("rejects", "table,file,row,key,column,cell,reason,nearest,unit,mended"),
        ("warnings", "table,file,row,column,reason"),
        ("history", "number,acted_at,what,load,by_whom,details,hash"),
        ("quality", "table,column,year,rows,filled,share"),
        ("compare resin", "resin,cracks,leak_backs,watched,crude,crude_low,crude_high,value,low,high"),
    ):
        assert call(*words.split(), "--format", "csv", store=store_path) == (0, f"{header}\n", "")
    assert call("loads", "--format", "csv", store=store_path)[1].startswith("batch,")
    assert call("scenario", "list", "--format", "csv", store=store_path)[1].startswith("name,labour_hour,")


def test_csv_and_json_say_the_same(call: Call) -> None:
    rows = list(csv.DictReader(io.StringIO(call("measure", "take_ratio", "--by", "resin", "--format", "csv")[1])))
    same = answer(call, "measure", "take_ratio", "--by", "resin")["rows"]
    assert [float(row["value"]) for row in rows] == [row["value"] for row in same]


def test_text_says_the_same_figures(call: Call) -> None:
    code, out, _ = call("measure", "leak_back_rate")
    row = answer(call, "measure", "leak_back_rate")["rows"][0]
    assert code == 0
    assert f"{100 * row['value']:.1f}" in out
    assert f"{100 * row['low']:.1f} to {100 * row['high']:.1f}" in out


def test_every_command_shows_an_example_in_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    for name in leakback.commands:
        assert run([name, "--help"]) == 0
        assert f"Example: leakback {name}" in capsys.readouterr().out


def test_templates_load_as_they_are(call: Call, tmp_path: Path) -> None:
    code, said, _ = call("template", str(tmp_path / "blank"), store=None)
    assert code == 0
    in_force = "under its name: shop.policy.toml for shop.duckdb."
    assert in_force in said
    assert in_force in (tmp_path / "blank" / "policy.toml").read_text(encoding="utf-8")
    code, out, _ = call("load", str(tmp_path / "blank"), "--strict", "--format", "json", store=tmp_path / "t.duckdb")
    assert code == 0
    assert all(count["loaded"] == count["read"] == 1 for count in json.loads(out)["tables"].values())
    code, _, err = call("template", str(tmp_path / "blank"), store=None)
    assert code == 2
    assert "is there already" in err


@pytest.mark.parametrize("command", ["dashboard", "demo"])
def test_the_dashboard_is_not_served_to_strangers(call: Call, command: str, tmp_path: Path) -> None:
    store = {"store": None} if command == "demo" else {}
    code, out, err = call(command, "--host", "0.0.0.0", **store)  # noqa: S104 - must be refused
    assert (code, out) == (2, "")
    assert "nobody would ask who they are" in err
    assert "--behind-proxy" in err
    assert len(err.splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_a_sign_in_that_is_open_to_others_is_refused(call: Call, demo_store: Path, tmp_path: Path) -> None:
    store = shutil.copyfile(demo_store, tmp_path / "shop.duckdb")
    secrets = tmp_path / "shop.secrets.toml"
    secrets.write_text("[auth]\n")
    secrets.chmod(0o644)
    code, _, err = call("dashboard", store=store)
    assert code == 2
    assert f"chmod 600 {secrets}" in err


def test_roles_are_given_listed_and_taken_back(call: Call, tmp_path: Path) -> None:
    store = tmp_path / "shop.duckdb"
    assert call("people", "set", "Anna@example.org", "owner", store=store)[:2] == (
        0,
        "anna@example.org is owner now.\n",
    )
    code, out, _ = call("people", "list", "--format", "json", store=store)
    [row] = json.loads(out)["rows"]
    assert (code, row["name"], row["role"]) == (0, "anna@example.org", "owner")
    assert call("people", "set", "bo@example.org", "boss", store=store)[0] == 2
    assert call("people", "remove", "anna@example.org", store=store)[0] == 0
    assert "Nobody has a role yet" in call("people", "list", store=store)[1]


def test_too_little_history_is_said_and_flags_still_work_on_rules(call: Call, tmp_path: Path) -> None:
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2026-12-01"}
    crack = {
        "crack_id": "K-1",
        "job_id": "J-2",
        "direction": "horizontal",
        "width_mm": 1,
        "offset_mm": 0,
        "length_m": 2,
    }
    folder = write_tables(tmp_path / "files", {"jobs": [DONE_JOB, planned], "cracks": [crack]})
    store = tmp_path / "few.duckdb"
    call("load", str(folder), store=store)
    code, _, err = call("fit", store=store)
    assert code == 2
    assert "leak-backs" in err
    found = json.loads(call("flags", "--format", "json", store=store)[1])
    assert [(row["action"], row["risk"]) for row in found["rows"]] == [("engineer_review", None)]
    assert "leak-backs" in found["said"]

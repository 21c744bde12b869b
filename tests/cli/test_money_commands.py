"""The commands about money: JSON and CSV in SI for programs, text in the business's units for people."""

import csv
import io
import shutil
from pathlib import Path

import pytest

from analytics.answers.records import policy_path
from analytics.cli import run
from analytics.cli.commands import leakback
from tests.cli.calling import Call, answer


@pytest.fixture(scope="module")
def store(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo that shows US units and may be written to."""
    copied = tmp_path_factory.mktemp("us") / "shop.duckdb"
    shutil.copyfile(demo_store, copied)
    policy = policy_path(demo_store).read_text(encoding="utf-8")
    policy_path(copied).write_text(f'display = "us"\n{policy}', encoding="utf-8")
    return copied


def test_reserve_gives_the_contracts_keys(call: Call) -> None:
    found = answer(call, "reserve", "--level", "0.8", "--since", "2026-06-30")
    wanted = {"expected_leak_backs", "low", "high", "expected_cost", "cost_low", "cost_high", "by_quarter"}
    assert wanted <= found.keys()
    assert found["level"] == 0.8
    assert found["moved"]["since"] == "2026-06-30"


def test_reserve_as_csv_is_a_row_a_quarter(call: Call) -> None:
    code, out, _ = call("reserve", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert rows[0]["quarter"] == "2026 Q4"
    assert float(rows[0]["low"]) <= float(rows[0]["expected_leak_backs"]) <= float(rows[0]["high"])


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        (("reserve", "--level", "1.5"), "level is 1.5: it must lie between 0 and 1"),
        (("reserve", "--since", "2030-01-01"), "--since 2030-01-01"),
        (("prices", "--by", "colour"), "unknown grouping 'colour'"),
        (("prices", "--months", "0"), "months are 0: they must lie between 1 and 1200"),
        (("prices", "--margin", "much"), "'much' is no number"),
        (("prices", "--margin", "2"), "margin"),
        (("prices", "--scenario", "none"), "no scenario 'none'"),
        (("scenario", "save", "nothing"), "it changes nothing"),
        (("scenario", "save", "dear", "--epoxy-litre", "4 per lb"), "a litre of epoxy has no price per lb"),
        (("scenario", "save", "dear", "--labour-hour", "much"), "an hour of labour: “much” is not an amount"),
        (("scenario", "remove", "none"), "no scenario 'none'"),
    ],
)
def test_a_wrong_call_is_one_line_and_exit_2(call: Call, words: tuple[str, ...], wrong: str) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert wrong in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_prices_for_programs_stay_si_and_for_people_are_in_their_units(call: Call) -> None:
    found = answer(call, "prices", "--by", "resin,water")
    overall = found["overall"]
    code, text, _ = call("prices", "--by", "resin,water")
    assert code == 0
    said = " ".join(text.split())
    assert f"the floor is {overall['floor_per_metre'] * 0.3048:.1f} USD/ft" in said.replace("\u202f", " ")
    assert "USD/m" not in said
    code, out, _ = call("prices", "--by", "resin,water", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [float(row["floor_per_metre"]) for row in rows] == [row["floor_per_metre"] for row in found["rows"]]


def test_prices_hold_win_rates_and_the_policys_margin(call: Call) -> None:
    found = answer(call, "prices", "--by", "resin")
    assert found["margin"] == "0.38"
    assert found["winning"]["quotes"] > 4000
    assert found["scenarios"] == []


def test_a_scenario_is_saved_listed_asked_for_and_removed(call: Call) -> None:
    as_it_is = answer(call, "prices", "--by", "resin")["overall"]
    saved = answer(call, "scenario", "save", "dearer labour", "--labour-hour", "139", "--margin", "0.5")
    assert saved["rows"] == [{"name": "dearer labour", "labour_hour": "139", "margin": "0.5"}]
    assert answer(call, "scenario", "list") == saved
    under = answer(call, "prices", "--by", "resin", "--scenario", "dearer labour")
    assert under["scenario"] == "dearer labour"
    assert under["margin"] == "0.5"
    assert under["overall"]["cost_per_metre"] > as_it_is["cost_per_metre"]
    beside = {each["name"]: each["overall"] for each in under["scenarios"]}
    assert beside["as it is"] == as_it_is
    assert beside["dearer labour"] == under["overall"]
    for named, rates_told in ((("--scenario", "dearer labour"), False), ((), True)):
        code, text, _ = call("prices", "--by", "resin", *named)
        assert code == 0
        assert ("What things cost" in text and "an hour of labour" in text) is rates_told
    assert answer(call, "scenario", "remove", "dearer labour") == {"rows": []}
    code, text, _ = call("scenario", "list")
    assert code == 0
    assert text.startswith("No scenario is saved yet.")


def test_every_command_of_the_group_shows_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    group = leakback.commands["scenario"]
    for name in group.commands:  # type: ignore[attr-defined]
        assert run(["scenario", name, "--help"]) == 0
        assert f"Example: leakback scenario {name}" in capsys.readouterr().out

"""``leakback loads``, ``quality``, ``privacy`` and ``extract`` as a person or a program meets them, on the demo."""

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from analytics.cli import run


def answer(capsys: pytest.CaptureFixture[str], store: Path, *words: str) -> dict[str, Any]:
    code = run([*words, "--store", str(store), "--format", "json"])
    said = capsys.readouterr()
    assert (code, said.err) == (0, "")
    found: dict[str, Any] = json.loads(said.out)
    return found


def text(capsys: pytest.CaptureFixture[str], store: Path, *words: str) -> str:
    assert run([*words, "--store", str(store)]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_loads_name_each_file_by_its_hash(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    rows = answer(capsys, demo_store, "loads")["rows"]
    assert {row["file"] for row in rows} == {f"{row['table_name']}.csv" for row in rows}
    assert all(len(row["sha256"]) == 64 and row["batch"] == 1 for row in rows)
    assert all(row["read"] == row["loaded"] + row["unchanged"] + row["rejected"] for row in rows)
    assert text(capsys, demo_store, "loads").startswith("1 load in force.")


def test_quality_says_what_it_costs(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    found = answer(capsys, demo_store, "quality")
    assert {"as_of", "rows", "costs", "jumps", "gaps", "twins"} <= found.keys()
    assert {"table", "column", "year", "rows", "filled", "share"} <= found["rows"][0].keys()
    assert "without litres or length: resin per metre rests" in text(capsys, demo_store, "quality")


def test_quality_as_csv_has_a_row_a_column_and_year(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    assert run(["quality", "--store", str(demo_store), "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {row["column"] for row in rows} >= {"resin_litres", "site_id", "finding"}


def test_privacy_counts_small_groups(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    found = answer(capsys, demo_store, "privacy", "--k", "10")
    assert found["k"] == 10
    assert found["groups"][0]["under"] > found["groups_in_extract"][0]["under"] == 0
    assert "that an outsider could tell apart" in text(capsys, demo_store, "privacy")


def test_an_extract_is_written_and_says_what_it_is_not_fit_for(
    capsys: pytest.CaptureFixture[str], demo_store: Path, tmp_path: Path
) -> None:
    found = answer(capsys, demo_store, "extract", str(tmp_path / "share"))
    assert {path.name for path in (tmp_path / "share").iterdir()} == {
        "ABOUT.txt", "jobs.csv", "cracks.csv", "callbacks.csv", "reviews.csv",
    }  # fmt: skip
    lines = {row["table"]: row["rows"] for row in found["rows"]}
    assert len((tmp_path / "share" / "jobs.csv").read_text().splitlines()) == lines["jobs"] + 1
    assert "Not fit for:" in (tmp_path / "share" / "ABOUT.txt").read_text()
    assert run(["extract", str(tmp_path / "share"), "--store", str(demo_store)]) == 2
    assert "nothing is overwritten" in capsys.readouterr().err

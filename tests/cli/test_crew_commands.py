"""``leakback crews`` as a person or a program meets it, on the demo."""

import csv
import io
import json
from pathlib import Path

import pytest

from analytics.cli import run


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(["crews", *words])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_json_is_alone_on_standard_output(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, err = said(capsys, "--months", "24", "--format", "json", "--store", str(demo_store))
    assert (code, err) == (0, "")
    rows = json.loads(out)["rows"]
    assert rows[0]["crew_id"] == "C05"
    assert rows[0]["signal"] == "high"
    assert rows[0]["ratio_without"] is None
    assert all(row["ratio_without"] > row["ratio"] and row["low_beside_high"] is False for row in rows[1:])


def test_csv_has_a_row_a_crew(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, _ = said(capsys, "--format", "csv", "--store", str(demo_store))
    rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert len(rows) == 12
    assert {"crew_id", "expected", "ratio", "low", "high", "signal", "after_practice", "note"} <= rows[0].keys()


def test_text_opens_with_the_answer(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, _ = said(capsys, "--store", str(demo_store))
    assert code == 0
    assert " ".join(out.split()).startswith("One crew of ten, C05, has more leak-backs than its cracks explain: ")
    assert "C12: too few to judge" in out
    assert "without" in out.split("verdict")[0]


def test_months_that_make_no_sense_are_one_line_and_exit_2(
    capsys: pytest.CaptureFixture[str], demo_store: Path
) -> None:
    code, out, err = said(capsys, "--months", "0", "--store", str(demo_store))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1

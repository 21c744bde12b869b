"""``leakback compare`` and ``leakback fit`` as a person or a program meets them, on the demo."""

import csv
import io
import json
from pathlib import Path

import pytest

from analytics.cli import run


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(words)
    out = capsys.readouterr()
    return code, out.out, out.err


def test_json_is_alone_on_standard_output(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, err = said(capsys, "compare", "resin", "--format", "json", "--store", str(demo_store))
    assert (code, err) == (0, "")
    answer = json.loads(out)
    assert [row["resin"] for row in answer["rows"]] == ["epoxy", "urethane_foam"]
    assert answer["contrasts"][0]["ratio"] < 1


def test_csv_has_a_row_a_season(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, _ = said(capsys, "compare", "season", "--months", "12", "--format", "csv", "--store", str(demo_store))
    rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert [row["season"] for row in rows] == ["winter", "spring", "summer", "autumn"]
    assert {"cracks", "crude", "value", "low", "high"} <= rows[0].keys()


def test_text_opens_with_the_answer_and_says_it_is_no_trial(
    capsys: pytest.CaptureFixture[str], demo_store: Path
) -> None:
    code, out, _ = said(capsys, "compare", "resin", "--store", str(demo_store))
    words = " ".join(out.split())
    assert code == 0
    assert words.startswith("Of 5 995 cracks, all else as it was, ")
    assert "not a trial" in words


def test_what_cannot_be_compared_is_one_line_and_exit_2(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, err = said(capsys, "compare", "crews", "--store", str(demo_store))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1


def test_fit_answers_with_scores_challenger_and_drift(capsys: pytest.CaptureFixture[str], demo_store: Path) -> None:
    code, out, _ = said(capsys, "fit", "--format", "json", "--store", str(demo_store))
    answer = json.loads(out)
    assert code == 0
    assert answer["chosen"] == "hazard"
    assert answer["challenger"]["winner"] == "hazard"
    assert answer["drift"]["ratio"]["low"] < 1 < answer["drift"]["ratio"]["high"]

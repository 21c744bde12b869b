import csv
import io
import subprocess
import sys
from contextlib import redirect_stdout
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from rich.console import Console

from analytics.cli.noticing import LOG, saying_notices
from analytics.cli.printing import emit, into
from analytics.contract.rows import Rows
from analytics.pages.page import Page

HEAVY = {"altair", "duckdb", "numpy", "polars", "scipy", "sklearn", "streamlit"}


def printed(rows: list[dict[str, Any]]) -> str:
    """What a command prints as CSV."""
    out = io.BytesIO()
    with redirect_stdout(io.TextIOWrapper(out)):
        emit("csv", lambda: {"rows": rows}, "rows", lambda: Page("never shown"))
    return out.getvalue().decode()


def test_a_csv_holds_no_text_that_a_spreadsheet_would_run() -> None:
    rows = [{"cell": "=1+1", "file": "@jobs.csv", "value": -0.5, "said": "a = b"}]
    [row] = csv.DictReader(io.StringIO(printed(rows)))
    assert row == {"cell": "'=1+1", "file": "'@jobs.csv", "value": "-0.5", "said": "a = b"}


def test_a_csv_reads_back_as_it_was() -> None:
    rows: list[dict[str, Any]] = [
        {"said": 'two\nlines, and "so"', "at": date(2026, 10, 7), "cost": Decimal("410.50"), "of": 0.1, "when": None},
        {"said": "", "at": None, "cost": None, "of": 2, "parts": [{"crack_id": "J-1", "ok": True}]},
    ]
    [header, first, second] = csv.reader(io.StringIO(printed(rows)))
    assert header == ["said", "at", "cost", "of", "when", "parts"]
    assert first == ['two\nlines, and "so"', "2026-10-07", "410.50", "0.1", "", ""]
    assert second == ["", "", "", "2", "", '[{"crack_id":"J-1","ok":true}]']


def test_a_csv_without_rows_has_its_header() -> None:
    frame = pl.DataFrame({"resin": ["epoxy"], "cracks": [2]})
    assert printed(Rows.of(frame)) == "resin,cracks\nepoxy,2\n"
    assert printed(Rows.of(frame.clear())) == "resin,cracks\n"
    assert printed(Rows([{"name": "dearer"}], ("name", "margin"))) == "name,margin\ndearer,\n"


def test_help_waits_for_no_library_that_answers_need() -> None:
    helped = "import sys; from analytics.cli import run; run(['--help']); "
    told = f"sys.exit(' '.join({HEAVY} & {{*sys.modules}}) or 0)"
    ran = subprocess.run([sys.executable, "-c", helped + told], check=False, capture_output=True, text=True)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "leakback demo" in ran.stdout


def test_a_folder_is_named_and_never_by_its_dots(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "jobs").mkdir()
    monkeypatch.chdir(tmp_path / "jobs")
    assert into(Path()) == into(tmp_path / "jobs") == "into this folder"
    assert into(Path("sheets")) == "into sheets"
    assert into(Path("..")) == f"into {tmp_path}"


def test_a_notice_stands_over_a_running_sign_of_life_not_in_its_line() -> None:
    written = io.StringIO()
    with saying_notices(), Console(file=written, force_terminal=True).status("measuring …"):
        LOG.warning("waiting for another program")
    assert "leakback: waiting for another program\n" in written.getvalue()

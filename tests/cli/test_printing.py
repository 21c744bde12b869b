import csv
import io
import subprocess
import sys
from collections.abc import Callable
from contextlib import redirect_stdout
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from rich.console import Console

from analytics.answers.loading import load
from analytics.cli.noticing import LOG, STEPS, saying_notices, saying_steps
from analytics.cli.printing import emit, into, working
from analytics.contract.rows import Rows
from analytics.pages.page import Page
from tests.histories import CRACK, DONE_JOB, TODAY, write_tables

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


def test_a_load_says_each_of_its_steps_as_it_begins(tmp_path: Path) -> None:
    told: list[str] = []
    folder = write_tables(tmp_path / "files", {"jobs": [DONE_JOB], "cracks": [CRACK, {**CRACK, "crack_id": "K-2"}]})
    with saying_steps(told.append):
        load(tmp_path / "shop.duckdb", [folder], today=TODAY)
    load(tmp_path / "shop.duckdb", [folder], today=TODAY)
    assert told == ["reading 2 files", "checking 3 rows", "backing up, and putting the rows in"]


class AtOnce:
    """A timer that does not wait."""

    def __init__(self, after: float, then: Callable[[], None]) -> None:
        assert after > 0
        self.start = then

    def cancel(self) -> None:
        """It has been started already."""


class Terminal(io.StringIO):
    """A person is watching."""

    def isatty(self) -> bool:
        return True


def test_the_sign_of_life_says_the_step(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr("threading.Timer", AtOnce)
    with working("reading and checking the files"):
        STEPS.info("checking 3 rows")
    assert "checking 3 rows …" in terminal.getvalue()

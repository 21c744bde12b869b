"""Paper from the command line: which files are written, and that a wrong call writes none."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.records import policy_path
from analytics.cli import run
from tests.cli.calling import Call
from tests.histories import CRACK, DONE_JOB


def flagged(call: Call) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(call("flags", "--format", "json")[1])["rows"]
    return rows


def test_a_sheet_a_job(call: Call, tmp_path: Path) -> None:
    jobs = list(dict.fromkeys(row["job_id"] for row in flagged(call)))[:2]
    code, out, err = call("sheet", *jobs, "--output", str(tmp_path / "sheets"), "--paper", "letter")
    assert (code, err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == sorted(f"job-{job}.pdf" for job in jobs)
    assert all(job in out for job in jobs)
    assert all(path.read_bytes().startswith(b"%PDF-") for path in (tmp_path / "sheets").iterdir())


def test_the_sheets_of_a_week(call: Call, tmp_path: Path) -> None:
    code, out, _ = call("sheet", "--planned-week", "2026-11-04", "--output", str(tmp_path))
    assert code == 0
    assert list(tmp_path.glob("job-*.pdf"))
    assert out.startswith("Wrote job-")


def test_a_referral(call: Call, tmp_path: Path) -> None:
    job = next(row["job_id"] for row in flagged(call) if row["action"] == "engineer_review")
    assert call("referral", job, "--output", str(tmp_path))[0] == 0
    assert (tmp_path / f"referral-{job}.pdf").read_bytes().startswith(b"%PDF-")


def test_the_files_are_named_to_programs(call: Call, tmp_path: Path) -> None:
    job = flagged(call)[0]["job_id"]
    for command, name in ((("sheet", job), f"job-{job}.pdf"), (("referral", job), f"referral-{job}.pdf")):
        code, out, err = call(*command, "--output", str(tmp_path), "--format", "json")
        assert (code, err) == (0, "")
        assert json.loads(out) == {"rows": [{"file": str(tmp_path / name)}]}
    file = tmp_path / "march.html"
    code, out, _ = call("report", "--month", "2025-03", "--output", str(file), "--format", "csv")
    assert (code, out) == (0, f"file\n{file}\n")


def test_a_paper_is_in_the_business_units_whoever_is_told_where_it_lies(
    call: Call, demo_store: Path, tmp_path: Path
) -> None:
    copied = tmp_path / "shop.duckdb"
    shutil.copyfile(demo_store, copied)
    policy_path(copied).write_text('display = "us"\n' + policy_path(demo_store).read_text(encoding="utf-8"))
    written = {}
    for form in ("text", "json"):
        file = tmp_path / f"{form}.html"
        said = ("--month", "2025-03", "--output", str(file), "--format", form)
        assert call("report", *said, store=copied)[0] == 0
        written[form] = file.read_text(encoding="utf-8")
    assert "\u202fft" in written["text"] or "/ft" in written["text"]
    assert written["json"] == written["text"]


def test_what_was_written_here_is_said_without_a_dot_for_the_folder(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    job = flagged(call)[0]["job_id"]
    assert call("referral", job)[1] == f"Wrote referral-{job}.pdf into this folder.\n"
    assert call("report", "--month", "2025-03")[1] == "Wrote report-2025-03.html into this folder.\n"


def test_a_report_as_one_file(call: Call, tmp_path: Path) -> None:
    file = tmp_path / "march.html"
    assert call("report", "--month", "2025-03", "--output", str(file))[0] == 0
    written = file.read_text(encoding="utf-8")
    assert "March 2025" in written
    assert "An invented business" in written
    assert "<script" not in written


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["sheet"], "one of the two"),
        (["sheet", "J-1", "--planned-week", "2026-11-04"], "one of the two"),
        (["sheet", "J-0001"], "unknown planned job 'J-0001'"),
        (["sheet", "--planned-week", "2031-01-01"], "no job is planned from 2030-12-30 to 2031-01-05"),
        (["sheet", "--planned-week", "4 November"], "--planned-week"),
        (["referral", "J-0001"], "unknown planned job"),
        (["report", "--month", "October"], "such as 2026-10"),
        (["report", "--month", "2031-01"], "the records reach only to"),
        (["report", "--output", "report.docx"], "end the file's name in .pdf or .html"),
    ],
)
def test_a_wrong_call_is_one_line_and_writes_nothing(
    call: Call, words: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = call(*words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [["sheet"], ["referral"]])
def test_without_a_planned_job_it_is_said_that_nothing_is_planned(
    words: list[str], load_tables: Callable[..., object], store_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [CRACK]})
    assert run([*words, "1001", "--store", str(store_path)]) == 2
    assert capsys.readouterr().err.strip().endswith("unknown planned job '1001': there is no planned job yet.")


def test_a_folder_that_cannot_be_written_is_said(call: Call, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    job = flagged(call)[0]["job_id"]
    code, _, err = call("sheet", job, "--output", str(tmp_path / "file" / "under"))
    assert (code, err.count("\n")) == (2, 1)
    assert "cannot write into" in err

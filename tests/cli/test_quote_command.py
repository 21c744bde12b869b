"""``leakback quote`` as a person or a program meets it, on the demo."""

import json
from functools import partial
from pathlib import Path

import pytest

from tests.cli.calling import Call
from tests.intake.brought import workbook


@pytest.fixture
def call(call: Call) -> Call:
    """Asks for a quote."""
    return partial(call, "quote")


CRACK = ("--length-m", "2.4", "--width-mm", "0.5", "--wall-thickness-mm", "200", "--resin", "epoxy", "--water", "damp")


def test_a_price_in_another_currency_is_refused(call: Call) -> None:
    code, _, err = call(*CRACK, "--price", "450 EUR")
    assert (code, "price is typed in EUR, and asked for in USD" in err) == (2, True)


def test_one_crack_in_json_and_in_text(call: Call) -> None:
    code, out, err = call(*CRACK, "--price", "450", "--format", "json")
    assert (code, err) == (0, "")
    row = json.loads(out)["rows"][0]
    assert row["ports"] == 13
    assert row["asked"]["price"] == "450.00"
    code, out, err = call(*CRACK, "--price", "$450.00")
    assert code == 0
    assert "Comparable jobs" in out
    assert "At 450" in out


def test_the_planned_cracks_and_a_file(call: Call, tmp_path: Path) -> None:
    code, out, _ = call("--planned", "--format", "csv")
    assert code == 0
    assert out.startswith("crack_id,job_id,litres,labour_minutes")
    path = tmp_path / "cracks.csv"
    path.write_text("length_m,width_mm,resin\n2,0.4,epoxy\n2,0.4,glue\n", encoding="utf-8")
    code, out, _ = call("--file", str(path))
    assert code == 0
    assert "is not one of epoxy, urethane_foam" in out
    assert "Not recorded: wall thickness" in out


def test_a_column_that_no_quote_reads_is_named_with_those_that_one_does(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "cracks.csv"
    path.write_text("length_m,width_mm,resin,price_charged\n2,0.4,epoxy,900\n", encoding="utf-8")
    out = " ".join(call("--file", str(path))[1].split())
    assert "Columns that no quote reads, left out: price_charged. A quote reads crack_id, job_id, length_m, " in out
    path.write_text("length_m,width_mm,resin,price\n2,0.4,epoxy,900\n", encoding="utf-8")
    assert "no quote reads" not in call("--file", str(path))[1]


def test_a_workbook_with_a_sheet_of_jobs_is_quoted_with_their_prices(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "both.xlsx"
    cracks = [["job_id", "crack_id", "length_m", "width_mm"], ["A", "A1", "2", "0.4"], ["B", "B1", "2", "0.4"]]
    path.write_bytes(workbook(jobs=[["job_id", "price_quoted"], ["A", "900"], ["C", "1"]], cracks=cracks))
    code, out, err = call("--file", str(path), "--format", "json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert [job["price_quoted"] for job in found["jobs"]] == ["900.00", None]
    assert [row["asked"] and row["asked"]["price"] for row in found["rows"]] == ["900.00", None]
    assert found["unused"] == [
        "Not quoted, named by no crack of the file: 1 job (C).",
        "Quoted without what is a job's, for want of a row of the jobs: 1 crack (B1).",
    ]


def test_many_cracks_are_shown_in_part_and_it_is_said_where_the_others_are(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "cracks.csv"
    path.write_text("length_m,width_mm,resin\n" + "2,0.4,epoxy\n" * 203 + "2,0.4,glue\n" * 201, encoding="utf-8")
    code, out, _ = call("--file", str(path))
    assert code == 0
    assert "Not shown: 3 more cracks. All are in: leakback quote --format csv." in out
    assert "Not shown: 1 more fault. All are in: leakback quote --format json." in out
    assert out.count("row 202 ") == 0
    assert len(json.loads(call("--file", str(path), "--format", "json")[1])["rejects"]) == 201


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "give --planned, or --file, or one crack"),
        (("--planned", "--length-m", "2"), "give --planned, or --file, or one crack"),
        (("--length-m", "2"), "no width is given"),
        (("--length-m", "0", "--width-mm", "1"), "length 0 m: it must be over 0"),
        (("--length-m", "2", "--width-mm", "1", "--resin", "polyurea"), "unknown resin 'polyurea'"),
        (("--length-m", "two", "--width-mm", "1"), "“two” is not a number with a decimal point, such as 2.4"),
        (("--length-m", "2", "--width-mm", "1", "--price", "dear"), "price “dear” is not an amount"),
        (("--length-m", "2", "--width-mm", "1", "--price", "nan"), "price “nan” is not an amount"),
        (("--length-m", "2", "--width-mm", "1", "--price", "0.125"), "price “0.125” is not an amount"),
        (
            ("--length-m", "2", "--width-mm", "1", "--price", "1.250"),
            "“1.250” could be 1250 or 1.250, and an amount has at most 2 decimals; write 1250.00 or 1.25",
        ),
        (
            ("--length-m", "2", "--width-mm", "1", "--price", "1,255"),
            "price “1,255” has 3 digits behind its mark, and an amount has at most 2 decimals; round it",
        ),
        (("--planned", "--level", "1.2"), "level is 1.2"),
        (("--file", "no-such.csv"), "no such file"),
    ],
)
def test_a_wrong_call_is_one_line_and_exit_2(call: Call, words: tuple[str, ...], said: str) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1

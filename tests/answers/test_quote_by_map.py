"""A file of cracks to be quoted under a business's own headers and units, read by the column map that loads it."""

from pathlib import Path

import pytest

from analytics.answers.quote_file import from_file
from analytics.cli import run
from analytics.contract.units import displayed, in_text
from analytics.errors import UnreadableFileError
from analytics.intake import parse_map
from tests.intake.brought import csv_bytes, workbook

INCH, FOOT = 25.4, 0.3048
HEAD = ["Ticket", "No", "Length", "Width", "Wall", "Product", "Temp", "Drive", "Phone"]
ROWS = [
    ["T-1", "1", "7' 3 1/2\"", "1/16", "8", "Foam", "41", "0.5", "555-0100"],
    ["T-1", "2", "8.5", "12", "8", "Foam", "41", "", ""],
    ["T-2", "1", "6 ft", "1/32", "10 in", "Epoxy", "", "1", ""],
]
JOBS = """
[jobs.columns]
job_id = "Ticket"
status = { constant = "planned" }
"""
CRACKS = """
[cracks.columns]
job_id = "Ticket"
crack_id = { template = "{Ticket}-{No}" }
length_m = { header = "Length", unit = "ft" }
width_mm = { header = "Width", unit = "in" }
wall_thickness_mm = { header = "Wall", unit = "in" }
resin = { header = "Product", words = { "Foam" = "urethane_foam" } }
wall_temp_c = { header = "Temp", unit = "F" }
"""
MAP = f'version = 1{JOBS}travel_minutes = {{ header = "Drive", unit = "hours" }}{CRACKS}'


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "to quote.csv"
    path.write_bytes(csv_bytes([HEAD, *ROWS]))
    return path


def test_feet_inches_and_words_are_read_as_a_load_reads_them(file: Path) -> None:
    asked = from_file(file, column_map=parse_map(MAP))
    [one, other] = asked.cracks.rows(named=True)
    assert (one["crack_id"], one["resin"], one["travel_minutes"]) == ("T-1-1", "urethane_foam", 30.0)
    assert one["length_m"] == pytest.approx((7 + 3.5 / 12) * FOOT)
    assert (one["width_mm"], one["wall_thickness_mm"]) == pytest.approx((INCH / 16, 8 * INCH))
    assert one["wall_temp_c"] == pytest.approx(5.0)
    assert other["crack_id"] == "T-2-1"
    assert (other["length_m"], other["width_mm"]) == pytest.approx((6 * FOOT, INCH / 32))
    [fault] = asked.rejects
    assert (fault["row"], fault["column"]) == (3, "width_mm")
    with displayed("us"):
        assert in_text(fault["reason"]).replace("\u202f", " ") == "width 12 in: it must be over 0 and at most 3.94 in"
    assert "Phone" in asked.dropped_columns


def test_a_sheet_of_jobs_alone_stands_by(tmp_path: Path) -> None:
    path = tmp_path / "both.xlsx"
    path.write_bytes(workbook(log=[["Ticket", "Note"], ["T-1", "none"]], walls=[HEAD, *ROWS[:1]]))
    log = f'[jobs]\nfrom = "log"{JOBS}'
    given = parse_map(f'version = 1\n{log}[cracks]\nfrom = "walls"{CRACKS}')
    assert from_file(path, column_map=given).cracks["crack_id"].to_list() == ["T-1-1"]
    with pytest.raises(UnreadableFileError, match="finds no cracks in it"):
        from_file(path, column_map=parse_map(f'version = 1\nignore = ["walls"]\n{log}'))


def test_the_command_takes_the_map_of_a_file(file: Path, demo_store: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = file.with_name("map.toml")
    given.write_text(MAP, encoding="utf-8")
    told = ["quote", "--file", str(file), "--map", str(given), "--store", str(demo_store), "--format", "csv"]
    assert run(told) == 0
    assert "T-2-1" in capsys.readouterr().out
    assert run(["quote", "--planned", "--map", str(given), "--store", str(demo_store)]) == 2
    assert "give --file too" in capsys.readouterr().err

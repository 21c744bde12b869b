"""Sheets in which a job's facts stand once, and rows that only sum up those above them."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from analytics.answers import mapping
from analytics.contract.batch import Batch
from analytics.intake import Source
from analytics.pages import mapped
from analytics.pages.page import Words
from tests.intake.brought import brought, clean, counts, csv_bytes, faults

TOP = [
    "Job #",
    "Date done",
    "Crew",
    "Address",
    "Crack length (m)",
    "Width (mm)",
    "Resin",
    "Litres",
    "Hours",
    "Price ($)",
]
JOBS = [
    [str(2100 + n), f"2026-10-{n + 2:02}", "Mike", f"{n} Elm St", "2.5", "1.5", "Epoxy", f"0.{n}", "2", "700"]
    for n in range(1, 7)
]
SECOND = ["", "", "", "", "2", "0.5", "Epoxy", "0.4", "1", ""]
ONLY_NUMBERS = ["", "", "", "", "2", "0.5", "", "0.4", "1", ""]
DOWN = 'fill_down = ["Job #", "Date done", "Crew", "Address", "Price ($)"]\n'
MAP = f"""version = 1
decimal_comma = false
[jobs]
from = "october"
{DOWN}
[jobs.columns]
job_id = "Job #"
crew_id = "Crew"
site_id = "Address"
done_on = "Date done"
price_charged = "Price ($)"
status = {{ constant = "done" }}
[cracks]
from = "october"
{DOWN}
[cracks.columns]
crack_id = {{ template = "{{Job #}}-{{#}}" }}
job_id = "Job #"
length_m = "Crack length (m)"
width_mm = "Width (mm)"
resin = {{ header = "Resin", words = {{ "Epoxy" = "epoxy" }} }}
resin_litres = "Litres"
labour_minutes = {{ header = "Hours", unit = "hours" }}
"""
SUMS = {
    "litres and hours": ["", "", "", "", "", "", "", "2.5", "13", ""],
    "the price too": ["", "", "", "", "", "", "", "2.5", "13", "4200"],
    "a word under the address": ["", "", "", "TOTALS", "", "", "", "2.5", "13", ""],
    "a word and no sum": ["", "", "", "October total", "", "", "", "9.9", "13", ""],
    "numbers that are no sum": ["", "", "", "", "", "", "", "9.9", "77", ""],
    "lengths summed too": ["", "", "", "", "17", "", "", "2.5", "13", ""],
    "units behind": ["", "", "", "", "", "", "", "2.5 L", "13 h", ""],
    "a month in words": ["", "", "", "October", "", "", "", "2.5", "13", ""],
}
NO_SUMS = {"numbers that are no sum", "units behind"}


def made(rows: Sequence[Sequence[str]]) -> Batch:
    return brought({"october.csv": csv_bytes([TOP, *rows])}, MAP)


@pytest.mark.parametrize("what", SUMS)
def test_a_row_that_sums_others_up_is_no_crack_of_the_last_job(what: str) -> None:
    batch = made([*JOBS, SECOND, SUMS[what]])
    assert clean(batch, "cracks", "crack_id")[-2:] == [("2106-1",), ("2106-2",)]
    assert counts(batch, "cracks") == (8, 7, 0, 1)
    assert [(key,) for key in range(2101, 2107)] == [(int(key),) for (key,) in clean(batch, "jobs", "job_id")]
    why = "holds nothing but numbers and no size" if what in NO_SUMS else "looks like a sum of those above"
    told = [(column, reason) for row, column, reason in faults(batch) if row == 9]
    assert ("job_id", f"the row {why}, so no Job # was filled in; delete it, or write its Job #") in told
    [key] = [reason for column, reason in told if column == "crack_id"]
    assert key.startswith("crack_id follows from Job #, once that is written in the file;")


def test_sums_of_parts_and_of_all_are_both_found() -> None:
    first, second = ["", "", "", "", "", "", "", "0.6", "6", ""], ["", "", "", "", "", "", "", "1.5", "6", ""]
    whole = ["", "", "", "October", "", "", "", "2.1", "12", ""]
    batch = made([*JOBS[:3], first, *JOBS[3:], second, whole])
    assert counts(batch, "cracks") == (9, 6, 0, 3)


@pytest.mark.parametrize("row", [SECOND, ONLY_NUMBERS])
def test_a_jobs_second_crack_takes_the_jobs_number(row: list[str]) -> None:
    batch = made([*JOBS, row])
    assert clean(batch, "cracks", "crack_id", "length_m")[-1] == ("2106-2", 2.0)
    assert faults(batch) == []


def test_a_row_with_a_jobs_number_is_no_sum_whatever_else_is_filled_down() -> None:
    bare = ["2107", "2026-10-20", "", "7", "", "", "", "0.4", "1", ""]
    batch = brought({"october.csv": csv_bytes([TOP, *JOBS, bare])}, MAP.replace(DOWN, 'fill_down = ["Crew"]\n'))
    assert faults(batch) == []
    assert clean(batch, "cracks", "crack_id")[-1] == ("2107-1",)


def test_blocks_that_fill_down_other_columns_agree_what_is_a_sum() -> None:
    rows = [[*row, note] for row, note in [*((job, "") for job in JOBS), (SECOND, "sum of two leaks")]]
    files = {"october.csv": csv_bytes([[*TOP, "Note"], *rows])}
    jobs, cracks = MAP.split("[cracks]")
    batch = brought(files, jobs + "[cracks]" + cracks.replace(DOWN, 'fill_down = ["Job #"]\n'))
    assert faults(batch) == []
    assert clean(batch, "cracks", "crack_id")[-1] == ("2106-2",)


@pytest.mark.parametrize("what", SUMS)
def test_a_sum_is_no_reason_to_propose_filling_down(what: str) -> None:
    seventh = ["2107", "2026-10-09", "Mike", "7 Elm St", *SECOND[4:]]
    proposed = mapping.propose_sources([Source("october.csv", csv_bytes([TOP, *JOBS, seventh, SUMS[what]]))])
    assert not proposed.proposals[0].fill_down


def test_what_is_filled_down_is_said_wherever_a_map_is_shown(tmp_path: Path) -> None:
    (tmp_path / "october.csv").write_bytes(csv_bytes([TOP, *JOBS, SECOND]))
    proposed = mapping.propose_files([tmp_path / "october.csv"])
    assert proposed.proposals[0].fill_down[0] == "Job #"
    said = [part.text for part in mapped.build(proposed).parts if isinstance(part, Words)]
    assert any(text.startswith("Filled down, where blank, from the nearest row above: Job #") for text in said)
    assert proposed.answer()["fill_down"] == {"october": list(proposed.proposals[0].fill_down)}


def test_work_on_a_crack_without_a_size_is_pointed_out() -> None:
    top = ["crack_id", "job_id", "length_m", "width_mm", "resin_litres"]
    jobs = csv_bytes([["job_id", "status", "done_on", "crew_id"], ["J-1", "done", "2026-10-01", "C01"]])

    def warned(*row: str, names: list[str] = top) -> list[tuple[str, str]]:
        files = {"jobs.csv": jobs, "cracks.csv": csv_bytes([names, ["K-1", "J-1", *row]])}
        return [(column, reason) for _, _, _, column, reason in brought(files).warnings.iter_rows()]

    [(column, reason)] = warned("", "", "0.5")
    assert (column, "without a length or a width" in reason) == ("length_m", True)
    assert warned("", "", "") == warned("2", "", "0.5") == warned("", "1.5", "0.5") == []
    assert warned("0.5", names=["crack_id", "job_id", "resin_litres"]) == []

"""A row of sums under the jobs' numbers: no job, whatever it holds."""

import pytest

from tests.histories import CRACK, DONE_JOB
from tests.intake.brought import brought, clean, csv_bytes, faults

LOST = {"job_id": "J-1", "status": "lost", "price_quoted": "900"}


@pytest.mark.parametrize("word", ["Total", "TOTAL", "Totals", "subtotal", "Sub-Total", "Grand_total", "Sum", "average"])
def test_a_row_of_sums_is_no_job_and_one_reason_says_so(word: str) -> None:
    rows = [LOST, {**LOST, "job_id": word}, {**LOST, "job_id": word, "status": "", "price_quoted": "x"}]
    batch = brought({"jobs.csv": csv_bytes([[*LOST], *(list(row.values()) for row in rows)])})
    assert clean(batch, "jobs", "job_id") == [("J-1",)]
    assert {(column, reason[:31]) for _, column, reason in faults(batch)} == {("", "the row looks like a sum of oth")}
    assert [row for row, *_ in faults(batch)] == [3, 4]


def test_a_row_of_sums_is_no_crack_either() -> None:
    files = {"jobs.csv": csv_bytes([[*DONE_JOB], list(DONE_JOB.values())])}
    sums = {**CRACK, "crack_id": "Total-1", "job_id": "Total"}
    files["cracks.csv"] = csv_bytes([[*CRACK], list(CRACK.values()), list(sums.values())])
    [(row, column, _)] = faults(brought(files))
    assert (row, column) == (3, "")


def test_a_code_that_only_holds_such_a_word_is_a_job() -> None:
    rows = [{**LOST, "job_id": name} for name in ("SUM-12", "Total-1", "total1")]
    batch = brought({"jobs.csv": csv_bytes([[*LOST], *(list(row.values()) for row in rows)])})
    assert faults(batch) == []

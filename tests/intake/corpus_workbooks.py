"""Awkward workbooks and Parquet files, and files that a column map splits."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

import polars as pl

from tests.intake.brought import Book, Rows, csv_bytes, parquet_bytes, workbook
from tests.intake.case import CRACK_HEAD, HEAD, JOBS, Case, jobs


def book_with(**options: Any) -> Callable[[Callable[[Book], None]], Callable[[], Mapping[str, bytes]]]:
    def made(write: Callable[[Book], None]) -> Callable[[], Mapping[str, bytes]]:
        def files() -> Mapping[str, bytes]:
            book = Book(**options)
            write(book)
            return {"work.xlsx": book.bytes()}

        return files

    return made


def titled(book: Book) -> None:
    sheet = book.sheet("Jobs", JOBS, first_row=4, first_column=1)
    sheet.merge_range(0, 1, 1, 5, "Jobs, exported")


def merged(book: Book) -> None:
    rows: Rows = [CRACK_HEAD, ["K-1", "J-1", 2, 0.5, "epoxy"], ["K-2", None, 3, 0.4, "epoxy"]]
    book.sheet("jobs", JOBS)
    book.sheet("cracks", rows).merge_range(1, 1, 2, 1, "J-1")


def merged_across(book: Book) -> None:
    rows: Rows = [CRACK_HEAD, ["K-1", "J-1", None, None, "epoxy"], ["K-2", "J-1", 3, 0.4, "epoxy"]]
    book.sheet("jobs", JOBS)
    book.sheet("cracks", rows).merge_range(1, 2, 1, 3, 2)


def turned(book: Book) -> None:
    book.sheet("jobs", JOBS)
    sheet = book.sheet("cracks", [CRACK_HEAD, ["K-1", "J-1", 2, None, "epoxy"], ["K-2", "J-1", 3, 0.4, "epoxy"]])
    sheet.write_datetime(1, 3, datetime(2026, 1, 8), book.fraction)  # noqa: DTZ001 - a spreadsheet's days have no zone


def days_and_numbers(book: Book) -> None:
    rows: Rows = [HEAD, ["J-1", "C1", "done", date(2024, 1, 15), 780.5], ["J-2", "C2", "done", 45342, 910]]
    book.sheet("jobs", rows)


def from_1904(book: Book) -> None:
    rows: Rows = [HEAD, ["J-1", "C1", "done", date(2024, 1, 15), 780.5], ["J-2", "C2", "done", 45342 - 1462, 910]]
    book.sheet("jobs", rows)


def formulas(book: Book) -> None:
    rows: Rows = [HEAD, ["J-1", "C1", ('="done"', "done"), date(2024, 1, 15), ("=780+0.5", 780.5)], JOBS[2]]
    book.sheet("jobs", rows)


def errors(book: Book) -> None:
    book.sheet("jobs", [*JOBS, ["J-3", "C1", "done", "2024-03-01", ("=1/0", "#DIV/0!")]])


WIDE = """
version = 1
[jobs.columns]
job_id = "Job"
crew_id = "Crew"
status = { constant = "done" }
done_on = { header = "Date", date_format = "DD/MM/YYYY" }
[cracks.columns]
crack_id = { template = "{Job}-{#}" }
job_id = "Job"
length_m = { header = "Len", unit = "ft" }
width_mm = { header = "Wid", unit = "in" }
"""
WIDE_ROWS: Rows = [
    ["Job", "Crew", "Date", "Len", "Wid"],
    ["J-1", "C1", "15/01/2024", "8", "1/8"],
    ["J-1", "C1", "15/01/2024", "10", '1/16"'],
    ["J-2", "C2", "20/02/2024", "", ""],
]
SIDE_BY_SIDE = """
version = 1
[jobs.columns]
job_id = "Job"
crew_id = "Crew"
status = { constant = "done" }
done_on = "Date"
[[cracks]]
[cracks.columns]
crack_id = { template = "{Job}-1" }
job_id = "Job"
length_m = "Length 1"
[[cracks]]
[cracks.columns]
crack_id = { template = "{Job}-2" }
job_id = "Job"
length_m = "Length 2"
"""
CASES = [
    Case("a workbook called a CSV", jobs(workbook(jobs=JOBS))),
    Case("titles over the header, and a margin", book_with()(titled)),
    Case("cells merged downwards", book_with()(merged), {"jobs": (2, 2, 0, 0), "cracks": (2, 2, 0, 0)},
         cells={("cracks", "job_id"): {"J-1"}}),
    Case("cells merged across", book_with()(merged_across), {"jobs": (2, 2, 0, 0), "cracks": (2, 1, 0, 1)},
         reason="merged with the one on its left"),
    Case("a fraction that was turned into a day", book_with()(turned), {"jobs": (2, 2, 0, 0), "cracks": (2, 1, 0, 1)},
         reason="turned into a day by the spreadsheet"),
    Case("days as days and as numbers", book_with()(days_and_numbers),
         cells={("jobs", "done_on"): {date(2024, 1, 15), date(2024, 2, 20)}}),
    Case("days counted from 1904", book_with(date_1904=True)(from_1904),
         cells={("jobs", "done_on"): {date(2024, 1, 15), date(2024, 2, 20)}}),
    Case("formulas", book_with()(formulas), cells={("jobs", "price_charged"): {"780.50", "910.00"}}),
    Case("a formula that fails", book_with()(errors), {"jobs": (3, 2, 0, 1)}, reason="shows #DIV/0! here"),
    Case("sheets that are empty", jobs(workbook(jobs=JOBS, Sheet2=[], Sheet3=[]), "work.xlsx")),
    Case("one sheet, named by the file", jobs(workbook(Sheet1=JOBS), "jobs.xlsx")),
    Case("a sheet of somebody else's", jobs(workbook(jobs=JOBS, Notes=[["ring Robin"], ["and Kim"]]), "work.xlsx"),
         error="unknown table name"),
    Case("numbers where text should be", jobs(workbook(jobs=[["job_id", "status"], [1001, "lost"], [1002.0, "lost"]]),
                                              "work.xlsx"), cells={("jobs", "job_id"): {"1001", "1002"}}),
    Case("Parquet with types of its own", jobs(parquet_bytes(pl.DataFrame(
        {"job_id": [1.0, 2.0], "status": ["lost", "lost"], "quoted_on": [date(2024, 1, 15), None]})), "jobs.parquet"),
        cells={("jobs", "job_id"): {"1", "2"}}),
    Case("Parquet with a list in a cell", jobs(parquet_bytes(pl.DataFrame(
        {"job_id": ["J-1", "J-2"], "status": ["lost", "lost"], "travel_minutes": [[1], None]})), "jobs.parquet"),
        {"jobs": (2, 1, 0, 1)}),
    Case("jobs and their cracks in one sheet", jobs(csv_bytes(WIDE_ROWS), "2024.csv"),
         {"jobs": (3, 2, 1, 0), "cracks": (2, 2, 0, 0)}, column_map=WIDE,
         cells={("cracks", "length_m"): {2.4384, 3.048}, ("cracks", "width_mm"): {3.175, 1.5875}}),
    Case("cracks side by side in one row", jobs(csv_bytes(
        [["Job", "Crew", "Date", "Length 1", "Length 2"], ["J-1", "C1", "2024-01-15", 2, 3],
         ["J-2", "C1", "2024-01-16", 1, ""], ["J-3", "C1", "2024-01-17", "x", "y"]]), "2024.csv"),
         {"jobs": (3, 3, 0, 0), "cracks": (5, 3, 0, 2)}, column_map=SIDE_BY_SIDE,
         cells={("cracks", "crack_id"): {"J-1-1", "J-1-2", "J-2-1"}}),
]  # fmt: skip

import io
import zipfile
from datetime import date

import pytest

from analytics.errors import UnreadableFileError
from analytics.intake import archive, limits, markings
from tests.intake.brought import Book, Rows, brought, clean, counts, workbook
from tests.intake.case import HEAD, JOBS

SHEET = "xl/worksheets/sheet1.xml"


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        return {name: book.read(name) for name in book.namelist()}


def packed(parts: dict[str, bytes]) -> bytes:
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as book:
        for name, part in parts.items():
            book.writestr(name, part)
    return whole.getvalue()


def with_sheet(change: bytes, into: bytes) -> bytes:
    parts = parts_of(workbook(jobs=JOBS))
    parts[SHEET] = parts[SHEET].replace(change, into, 1)
    return packed(parts)


def test_a_part_that_unpacks_to_hundreds_of_times_its_size_is_refused_unread() -> None:
    parts = parts_of(workbook(jobs=JOBS))
    parts["xl/media/image1.xml"] = b" " * (limits.RATIO_COUNTS_FROM_BYTES + 1)
    with pytest.raises(UnreadableFileError, match="unpacks to 200 times its size"):
        brought({"jobs.xlsx": packed(parts)})


def test_an_archive_that_lies_about_its_sizes_is_read_no_further_than_it_says() -> None:
    honest = workbook(jobs=JOBS)
    at = honest.index(b"PK\x01\x02")  # the first entry of the directory; its unpacked size lies 24 bytes on
    lying = honest[: at + 24] + b"\x05\x00\x00\x00" + honest[at + 28 :]
    with pytest.raises(UnreadableFileError, match=r"damaged|cannot be read"):
        brought({"jobs.xlsx": lying})


def test_more_parts_and_bytes_than_are_held_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MOST_UNPACKED_BYTES", 4000)
    with pytest.raises(UnreadableFileError, match="unpacks to"):
        brought({"jobs.xlsx": workbook(jobs=JOBS)})


@pytest.mark.parametrize("far", ["XFD1048576", "A9999999", "ZZ1000000"])
def test_a_stray_cell_far_out_is_refused_before_the_sheet_is_held(far: str) -> None:
    cell = f'<row r="{"".join(filter(str.isdigit, far))}"><c r="{far}"><v>1</v></c></row></sheetData>'
    with pytest.raises(UnreadableFileError, match="delete the stray cells far out"):
        brought({"jobs.xlsx": with_sheet(b"</sheetData>", cell.encode())})


def test_merged_cells_without_end_are_refused() -> None:
    merged = b'</sheetData><mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    with pytest.raises(UnreadableFileError, match="merged cells"):
        brought({"jobs.xlsx": with_sheet(b"</sheetData>", merged)})


def test_one_long_text_in_a_million_cells_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(markings, "MOST_UNPACKED_BYTES", 100_000)
    rows: Rows = [["job_id", "status", "notes"], *([f"J-{n}", "lost", "a note " * 200] for n in range(100))]
    with pytest.raises(UnreadableFileError, match="of text"):
        brought({"jobs.xlsx": workbook(jobs=rows)})


def test_a_document_type_is_refused() -> None:
    bomb = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]>'
    parts = parts_of(workbook(jobs=JOBS))
    parts["xl/sharedStrings.xml"] = bomb + parts["xl/sharedStrings.xml"].partition(b"?>")[2]
    with pytest.raises(UnreadableFileError, match="document type"):
        brought({"jobs.xlsx": packed(parts)})


def test_a_formula_that_was_never_worked_out_is_a_fault_and_not_a_blank() -> None:
    book = Book()
    book.sheet("jobs", [HEAD, ["J-1", "C1", "done", date(2024, 1, 15), ("=1+1", 2)], JOBS[2]])
    parts = parts_of(book.bytes())
    parts[SHEET] = parts[SHEET].replace(b"<f>1+1</f><v>2</v>", b"<f>1+1</f>")
    batch = brought({"jobs.xlsx": packed(parts)})
    assert counts(batch, "jobs") == (2, 1, 0, 1)
    assert "never worked out" in batch.rejects["reason"].item()


def test_a_workbook_holds_what_a_csv_file_would() -> None:
    sheets: dict[str, Rows] = {"jobs": JOBS, "rates": [["effective_on", "item", "amount", "currency"],
                                                       ["2024-01-01", "labour_hour", 58, "USD"]]}  # fmt: skip
    batch = brought({"work.xlsx": workbook(**sheets)})
    assert clean(batch, "jobs", "job_id", "crew_id") == [("J-1", "C1"), ("J-2", "C2")]
    assert [file.file for file in batch.files] == ["work.xlsx (jobs)", "work.xlsx (rates)"]

"""Awkward text files."""

from tests.intake.brought import csv_bytes
from tests.intake.case import CRACK_HEAD, HEAD, JOBS, Case, jobs, text, with_row

HEADLESS = [["J-1", "Robin Example", "555-0100"], ["J-2", "Kim Sample", "555-0101"]]
MESSAGE = "a cell of the\nrow, with a line end"

CASES = [
    Case("commas", jobs(csv_bytes(JOBS))),
    Case("semicolons and decimal commas", jobs(csv_bytes([[str(c).replace(".", ",") for c in r] for r in JOBS], ";")),
         cells={("jobs", "price_charged"): {"780.50", "910.00"}}),
    Case("tabs", jobs(csv_bytes(JOBS, "\t"), "jobs.tsv")),
    Case("decimal commas in quotation marks between commas", text(
        'job_id,status,price_charged\nJ-1,lost,"780,5"\nJ-2,lost,"1234,50"\n'),
        cells={("jobs", "price_charged"): {"780.50", "1234.50"}}),
    Case("a mark of UTF-8", jobs(csv_bytes(JOBS, encoding="utf-8-sig"))),
    Case("UTF-16, little end first", jobs(csv_bytes(JOBS, "\t", "utf-16"))),
    Case("UTF-16 without a mark, little end first", jobs(csv_bytes(JOBS, encoding="utf-16-le"))),
    Case("UTF-16 without a mark, big end first", jobs(csv_bytes(JOBS, "\t", "utf-16-be"))),
    Case("UTF-16 without a mark, cut off", jobs(csv_bytes(JOBS, encoding="utf-16-le")[:-1]), error="does not go on so"),
    Case("UTF-16, big end first", jobs(b"\xfe\xff" + csv_bytes(JOBS, encoding="utf-16-be"))),
    Case("Windows-1252", text("job_id,branch,status\nJ-1,Zürich,lost\n", "cp1252"),
         {"jobs": (1, 1, 0, 0)}, cells={("jobs", "branch"): {"Zürich"}}),
    Case("a mark of UTF-8 and a byte that is none", jobs(b"\xef\xbb\xbf" + csv_bytes(JOBS) + b"J-3,C\xff,lost,,\r\n"),
         {"jobs": (3, 3, 0, 0)}),
    Case("line ends of an old machine", jobs(csv_bytes(JOBS, ends="\r"))),
    Case("line ends of both kinds", text("job_id,status\r\nJ-1,lost\nJ-2,lost\r\n")),
    Case("no line end at the end", text("job_id,status\nJ-1,lost\nJ-2,lost")),
    Case("blank lines", text("\n\njob_id,status\n\nJ-1,lost\n,\n\nJ-2,lost\n\n")),
    Case("a first line that only names the mark", text("sep=;\njob_id;status\nJ-1;lost\nJ-2;lost\n")),
    Case("a title with commas over semicolons", text(
        "Jobs, done, all\n\njob_id;status;crew_id\nJ-1;lost;C1\nJ-2;lost;C2\n")),
    Case("everything in quotation marks", text('"job_id","status"\n"J-1","lost"\n"J-2","lost"\n')),
    Case("a line end inside a cell", jobs(csv_bytes([[*HEAD, "notes"], *([*r, MESSAGE] for r in JOBS[1:])]))),
    Case("an address of five lines in a column that is dropped", jobs(csv_bytes(
        [[*HEAD, "address"], *([*r, "Robin\nExample\n17 Invented Lane,\nTown\nCountry"] for r in JOBS[1:])]))),
    Case("a bare inch mark", lambda: {
        "jobs.csv": csv_bytes(JOBS), "cracks.csv": b'crack_id,job_id,width_mm\nK-1,J-1,1/8"\nK-2,J-1,0.5\n'},
        {"jobs": (2, 2, 0, 0), "cracks": (2, 1, 0, 1)}, reason="is a fraction"),
    Case("a quotation mark that is never closed", text(
        'job_id,status\nJ-1,"lost\nJ-2,lost\nJ-3,lost\n'), error="row 2"),
    Case("a quotation mark closed three rows later", text(
        'job_id,crew_id,status\nJ-1,"C1,lost\nJ-2,C1,lost\nJ-3,C1,lost\nJ-4,C1",lost\n'), error="row 2"),
    Case("a quotation mark closed in the next row", text(
        'job_id,crew_id,status\nJ-1,"C1,lost\nJ-2,C1",lost\nJ-3,C1,lost\n'), error="row 2"),
    Case("a short row", text("job_id,crew_id,status\nJ-1,C1,lost\nJ-2,lost\n"), {"jobs": (2, 1, 0, 1)},
         reason="2 cells, the header 3"),
    Case("a long row", text("job_id,crew_id,status\nJ-1,C1,lost\nJ-2,C1,lost,late\n"), {"jobs": (2, 1, 0, 1)},
         reason="4 cells, the header 3"),
    Case("a mark at the end of every line", text("job_id,status,\nJ-1,lost,\nJ-2,lost,\n")),
    Case("spaces around everything", text(" Job ID , Status \n J-1 , LOST \n J-2 , Lost \n")),
    Case("a total at the foot", jobs(with_row(["Total", "", "", "", "1690.50"])), {"jobs": (3, 2, 0, 1)}),
    Case("the header again half way down", jobs(with_row(list(HEAD), ["J-3", "C1", "done", "2024-03-01", "5"])),
         {"jobs": (4, 3, 0, 1)}),
    Case("the same row twice", jobs(with_row(list(JOBS[1]))), {"jobs": (3, 2, 1, 0)}),
    Case("one number, two jobs", jobs(with_row(["J-1", "C9", "done", "2024-01-15", "1"])), {"jobs": (3, 1, 0, 2)},
         reason="same job_id and other values"),
    Case("days month first", jobs(with_row(["J-3", "C1", "done", "03/04/2025", "1"])), {"jobs": (3, 2, 0, 1)},
         reason="is not a day written year-month-day"),
    Case("a day that never was", jobs(with_row(["J-3", "C1", "done", "2023-02-29", "1"])), {"jobs": (3, 2, 0, 1)}),
    Case("a day of 1900", jobs(with_row(["J-3", "C1", "done", "1900-01-01", "1"])), {"jobs": (3, 2, 0, 1)}),
    Case("a day and a time", jobs(with_row(["J-3", "C1", "done", "2024-03-01 14:30:00", "1"])), {"jobs": (3, 3, 0, 0)}),
    Case("a time with a zone", jobs(with_row(["J-3", "C1", "done", "2024-03-01T23:30:00Z", "1"])),
         {"jobs": (3, 2, 0, 1)}),
    Case("not a number, written as one", jobs(with_row(["J-3", "C1", "done", "2024-03-01", "NaN"])),
         {"jobs": (3, 2, 0, 1)}),
    Case("thousands or a decimal, nobody knows", text("job_id;status;travel_minutes\nJ-1;lost;1,250\nJ-2;lost;30\n"),
         {"jobs": (2, 1, 0, 1)}, reason="could be a decimal number or thousands"),
    Case("thousands with a point among decimal commas", text(
        "job_id;status;travel_minutes\nJ-1;lost;1.250\nJ-2;lost;30,5\n"), {"jobs": (2, 1, 0, 1)}),
    Case("an error kept as text", jobs(with_row(["J-3", "C1", "done", "2024-03-01", "#REF!"])), {"jobs": (3, 2, 0, 1)},
         reason="an error of the spreadsheet"),
    Case("an error where the crew stands", jobs(with_row(["J-3", "#N/A", "done", "2024-03-01", "5"])),
         {"jobs": (3, 2, 0, 1)}),
    Case("a name where the length stands", lambda: {
        "jobs.csv": csv_bytes(JOBS),
        "cracks.csv": csv_bytes([CRACK_HEAD, ["K-1", "J-1", "Robin Example", 1, "epoxy"]])},
        {"jobs": (2, 2, 0, 0), "cracks": (1, 0, 0, 1)}, reason="the cell is not a number"),
    Case("a crack before its job", lambda: {
        "cracks.csv": csv_bytes([CRACK_HEAD, ["K-1", "J-9", 2, 1, "epoxy"]]), "jobs.csv": csv_bytes(JOBS)},
        {"jobs": (2, 2, 0, 0), "cracks": (1, 0, 0, 1)}, reason="no job J-9 is loaded"),
    Case("the same name in two folders", lambda: {
        "north/jobs.csv": csv_bytes(JOBS),
        "south/jobs.csv": csv_bytes([HEAD, ["J-9", "C1", "done", "2024-01-15", "x"]])},
        {"jobs": (3, 2, 0, 1)}),
    Case("one file without a column that the other has", lambda: {
        "jobs.csv": csv_bytes(JOBS), "jobs-2023.csv": csv_bytes([["job_id", "status"], ["J-9", "lost"]])},
        {"jobs": (3, 3, 0, 0)}),
    Case("numbered by the browser", jobs(csv_bytes(JOBS), "jobs (1).csv")),
    Case("two columns of one name", text("job_id,status,status\nJ-1,lost,done\n"), error="status is there twice"),
    Case("two columns of one name that are dropped", text("job_id,status,notes,notes\nJ-1,lost,a,b\nJ-2,lost,a,b\n")),
    Case("no header", jobs(csv_bytes(HEADLESS)), error="missing 2 required columns"),
    Case("nothing in it", jobs(b"\r\n \r\n"), error="empty"),
    Case("bytes that are no text", jobs(b"job_id,status\n\x00\x01\x02"), error="not a text file"),
    Case("a web page called a table", jobs(b"<html><table><tr><td>job_id</td></tr></table>"), error="a web page"),
    Case("an old workbook", jobs(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, "jobs.xlsx"),
         error="old workbook"),
]  # fmt: skip

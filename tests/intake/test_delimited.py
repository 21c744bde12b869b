import re
from collections.abc import Iterator
from itertools import islice
from random import Random

import pytest

from analytics.errors import LeakbackError
from analytics.intake import delimited, dialect
from analytics.intake.dialect import split_mark
from analytics.intake.sources import Source
from tests.intake.brought import brought, counts, csv_bytes

CELLS = ["", "a", '"b"', '""', '"x,y"', '"x;y"', '"q""q"', '1/8"', ' "z"', "5'6\"", "é", '"l\nm"', "x\ty"]
Table = tuple[list[str], list[list[str]]]


def texts(count: int) -> Iterator[tuple[str, str, int]]:
    random = Random(7)  # noqa: S311 - a seed for tests
    for _ in range(count):
        mark, width, end = random.choice(",;\t"), random.randrange(1, 5), random.choice(["\n", "\r\n", "\r"])
        lines = [mark.join(f"h{n}" for n in range(width))]
        for _ in range(random.randrange(6)):
            cells = width if random.random() < 0.95 else random.randrange(1, 6)
            lines.append(mark.join(random.choice(CELLS) if random.random() < 0.3 else "a" for _ in range(cells)))
        yield end.join(lines) + random.choice(["", end]), mark, width


def test_the_quick_reader_reads_what_the_careful_one_reads() -> None:
    """Where every line is plainly a row, splitting it gives what Python's csv module gives, cell by cell."""
    quick = 0
    for text, mark, width in texts(2500):
        lines, names = delimited._lines(text), [f"h{n}" for n in range(width)]
        if not delimited._splits_alone(lines, mark, 1, width):
            continue
        quick += 1
        by_line, _ = delimited._by_line(lines.slice(1), mark, names)
        by_record, _ = delimited._by_record(islice(delimited._records(text, mark, "f", width), 1, None), names)
        assert by_line.equals(by_record), text
    assert quick > 800


def test_a_clean_file_is_read_as_the_careful_reader_reads_it() -> None:
    """Files without quotation marks, ragged ones and blank lines among them: the same cells, or left to the others."""
    random, clean = Random(11), 0  # noqa: S311 - a seed for tests
    for _ in range(1500):
        mark, width, end = random.choice(",;\t"), random.randrange(2, 5), random.choice(["\n", "\r\n", "\r"])
        names = [f"h{n}" for n in range(width)]
        rows = [[random.choice(["", " ", "a", "é", "#b", "1/8"]) for _ in names] for _ in range(random.randrange(6))]
        for row in rows:
            row[1:] = [*row[1:], "more"] if random.random() < 0.03 else row[2 if random.random() < 0.03 else 1 :]
        lines = [mark.join(row) for row in [names, *rows]]
        text = end.join(lines) + random.choice(["", end])
        found = delimited._clean(re.sub("\r\n?", "\n", text).encode(), mark, 1, names)
        careful, widths = delimited._by_record(islice(delimited._records(text, mark, "f", width), 1, None), names)
        if found is not None:
            clean += 1
            assert found.equals(careful), text
            assert (widths == width).all()
    assert clean > 800


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("a,b,c\n1,2,3\n1,2\n4,5,6\n", ","),
        ("a;b\n1,5;2,5\n3,5;4,5\n", ";"),
        ("Title, with a comma\na;b;c\n1;2;3\n", ";"),
        ('a\tb\n"x,y,z"\t2\n', "\t"),
        ("one column\nonly\n", ","),
        ('a,b\n1/8",2\n', ","),
    ],
)
def test_the_mark_is_the_one_that_makes_the_most_even_table(text: str, mark: str) -> None:
    assert split_mark(text)[0] == mark


def test_a_long_file_is_read_in_pieces_and_none_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "CHUNK", 7)
    rows = [["job_id", "status", "notes"], *([f"J-{n}", "lost", "a,b"] for n in range(100))]
    assert counts(brought({"jobs.csv": csv_bytes(rows)}), "jobs") == (100, 100, 0, 0)


def test_more_rows_or_columns_than_are_held_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "MOST_ROWS", 1)
    with pytest.raises(LeakbackError, match="at most 1 are read"):
        brought({"jobs.csv": b"job_id,status\nJ-1,lost\nJ-2,lost\n"})
    monkeypatch.setattr(delimited, "MOST_COLUMNS", 1)
    with pytest.raises(LeakbackError, match="2 columns"):
        brought({"jobs.csv": b"job_id,status\nJ-1,lost\n"})


def test_a_row_keeps_the_number_that_a_spreadsheet_shows() -> None:
    batch = brought({"jobs.csv": b'Jobs\n\njob_id,status,notes\n\nJ-1,lost,"two\nlines"\n\nJ-2,nowhere,\n'})
    assert batch.rejects["row"].to_list() == [7]


def test_a_faulty_row_that_is_there_twice_is_rejected_twice_and_repeats_nothing() -> None:
    short = "J-2,quoted"
    batch = brought({"jobs.csv": f"job_id,status,crew_id\nJ-1,quoted,C1\n{short}\n{short}\nJ-1,quoted,C1\n".encode()})
    assert counts(batch, "jobs") == (4, 1, 1, 2)


@pytest.mark.parametrize(
    "late",
    [
        b"J-1,lost,plain\n",
        "J-1,lost,caf\u00e9\n".encode(),
        "J-1,lost,caf\u00e9\n".encode("cp1252"),
        b'J-1,lost,"a,b"\n',
        b"J-1,lost\n",
        b"J-1,lost,a,b\n",
        b"J-1,lost,a\r\nJ-2,lost,b\r\n",
        b"J-1,lost,a\rJ-2,lost,b\r",
        b"\n\nJ-1,lost,a",
    ],
)
@pytest.mark.parametrize("begins", [b"", b"\xef\xbb\xbf", b"sep=,\n", b"\xe9t\xe9 2026,,\n"])
def test_a_large_file_is_read_as_it_lies_only_where_decoding_it_first_reads_the_same(
    begins: bytes, late: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dialect, "SAMPLE_LETTERS", 1_000)  # what comes late is beyond what the beginning shows
    content = begins + b"job_id,status,notes\n" + b"J-0,lost,none\n" * 100 + late + b"J-9,lost,none\n" * 3
    source = Source("jobs.csv", content)
    found = delimited.read_delimited(source, {"job_id", "status", "notes"})
    monkeypatch.setattr(delimited, "clean_beginning", lambda _: None)
    careful = delimited.read_delimited(source, {"job_id", "status", "notes"})
    assert found.cells.equals(careful.cells)
    assert found.numbers.equals(careful.numbers)
    assert found.faults.equals(careful.faults)
    assert found.cells.height > 100


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_clean_file_is_not_decoded(mark: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delimited, "decode", None)
    rows = [["job_id", "status", "notes"], *([f"J-{n}", "lost", ""] for n in range(20_000))]
    content = "\n".join(mark.join(row) for row in rows).encode()
    found = delimited.read_delimited(Source("jobs.csv", content), {"job_id", "status"})
    assert found.cells.rows() == [tuple(row) for row in rows[1:]]


def test_what_is_no_text_further_down_is_refused() -> None:
    content = b"job_id,status\n" + b"J-0,lost\n" * 40_000 + b"J-1,\x00\n"
    with pytest.raises(LeakbackError, match="not a text file"):
        delimited.read_delimited(Source("jobs.csv", content), {"job_id", "status"})

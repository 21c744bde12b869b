"""CSV files to sheets of text, a column at a time where every line is plainly a row, else record by record."""

import csv
import re
from collections.abc import Collection, Iterator, Sequence
from itertools import chain, islice

import numpy as np
import polars as pl

from analytics.errors import UnreadableFileError
from analytics.intake.dialect import clean_beginning, decode, split_mark
from analytics.intake.header import find_header, name_columns
from analytics.intake.limits import HEAD_ROWS, MOST_COLUMNS, MOST_ROWS
from analytics.intake.sheet import FAULTS, Sheet, filled_rows
from analytics.intake.sources import Source

CHUNK = 50_000
LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+")
"""A line with its ending; found one by one, so that a large file is not held twice."""
Records = Iterator[list[str]]


def read_delimited(source: Source, known: Collection[str]) -> Sheet:
    """A text file as a sheet; UnreadableFileError where its marks or quotation marks make no table."""
    if (beginning := clean_beginning(source.content)) is not None:
        mark, _ = split_mark(beginning)
        at, names = _headed(beginning, mark, known, source.file)
        if (frame := _clean(source.content, mark, at + 1, names)) is not None:
            return _sheet(source, frame, _even(frame), at)
    mark, text = split_mark(decode(source.content, source.file))
    at, names = _headed(text, mark, known, source.file)
    return _sheet(source, *_cells(text, mark, at + 1, names, source.file), at)


def _headed(text: str, mark: str, known: Collection[str], file: str) -> tuple[int, list[str]]:
    """In which row the header stands, counted from 0, and its names."""
    head = list(islice(_records(text, mark, file), HEAD_ROWS))
    at = find_header(head, known, file)
    names = name_columns(head, at, known, file)
    if len(names) > MOST_COLUMNS:
        raise UnreadableFileError(f"{file}: {len(names)} columns; at most {MOST_COLUMNS} are read")
    return at, names


def _sheet(source: Source, frame: pl.DataFrame, widths: pl.Series, at: int) -> Sheet:
    """The cells below the header in row ``at`` as a sheet, with a fault for each row that is not as wide."""
    if frame.height > MOST_ROWS:
        raise UnreadableFileError(f"{source.file}: {frame.height} rows; at most {MOST_ROWS} are read, split the file")
    numbers = pl.int_range(at + 2, at + 2 + frame.height, dtype=pl.Int64, eager=True)
    filled = filled_rows(frame)
    odd = filled & (widths != frame.width)
    faults = _uneven(numbers.filter(odd), widths.filter(odd), frame.width)
    return Sheet(
        (source.stem,), source.file, source.sha256, frame.filter(filled), numbers.filter(filled), faults=faults
    )


def _cells(text: str, mark: str, start: int, names: Sequence[str], file: str) -> tuple[pl.DataFrame, pl.Series]:
    """The cells from row ``start`` on, and how many each row has, by the quickest way that can be sure of both."""
    if '"' not in text:
        even = text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
        if (frame := _clean(even.encode(), mark, start, names)) is not None:
            return frame, _even(frame)
    lines = _lines(text)
    if _splits_alone(lines, mark, start, len(names)):
        return _by_line(lines.slice(start), mark, names)
    return _by_record(islice(_records(text, mark, file, len(names)), start, None), names)


def _even(frame: pl.DataFrame) -> pl.Series:
    """As many cells in every row as there are names."""
    return pl.repeat(frame.width, frame.height, dtype=pl.Int64, eager=True)


def _clean(content: bytes, mark: str, start: int, names: Sequence[str]) -> pl.DataFrame | None:
    """The cells of UTF-8 without quotation marks whose every line has as many as there are names; else None.

    The reader refuses a line with more; none has fewer where there are as many marks as there must be in all.
    """
    begin = 0
    for _ in range(start):
        begin = content.find(b"\n", begin) + 1
    rows = _count(content, b"\n", begin) + (not content.endswith(b"\n"))
    if not begin or begin == len(content) or _count(content, mark.encode(), begin) != rows * (len(names) - 1):
        return None
    try:
        frame = pl.read_csv(
            content,
            skip_lines=start,
            has_header=False,
            separator=mark,
            quote_char=None,
            schema=dict.fromkeys(names, pl.String),
            empty_string_is_null=False,
        )
    except pl.exceptions.PolarsError:
        return None
    return frame if frame.height == rows else None


def _count(content: bytes, sign: bytes, begin: int) -> int:
    """How often a sign of one byte stands from ``begin`` on; where it is frequent, three times as quick as bytes'."""
    return int(np.count_nonzero(np.frombuffer(content, dtype=np.uint8, offset=begin) == ord(sign)))


def _uneven(numbers: pl.Series, widths: pl.Series, wanted: int) -> pl.DataFrame:
    """A fault for each row that has more or fewer cells than there are names: its cells may have shifted."""
    rows = pl.DataFrame({"row": numbers, "width": widths})
    counts = pl.format(f"the row has {{}} cells, the header {wanted}", "width")
    split = "; where a cell holds the mark that parts cells, such as a decimal comma, put it in quotation marks"
    reason = pl.when(pl.col("width") > wanted).then(counts + split).otherwise(counts)
    return rows.select("row", pl.lit("").alias("column"), reason.alias("reason")).cast(pl.Schema(FAULTS))


def _lines(text: str) -> pl.Series:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not lines[-1]:
        lines.pop()
    return pl.Series("line", lines, dtype=pl.String)


def _splits_alone(lines: pl.Series, mark: str, start: int, width: int) -> bool:
    """Whether each line is a row and each mark parts two cells: no quotation mark, or only around whole cells."""
    quotes = lines.str.count_matches('"', literal=True)
    if (quotes.head(start) % 2 == 1).any():
        return False
    quoted = lines.slice(start).filter(quotes.slice(start) > 0)
    cell = rf'("[^"{mark}]*"|[^"{mark}]*)'
    marks = quoted.str.count_matches(mark, literal=True)
    return bool(quoted.str.contains(f"^{cell}({mark}{cell})*$").all() and (marks == width - 1).all())


def _by_line(rows: pl.Series, mark: str, names: Sequence[str]) -> tuple[pl.DataFrame, pl.Series]:
    """The cells and how many each row has, where a line is a row and a mark always parts two cells."""
    widths = rows.str.count_matches(mark, literal=True).cast(pl.Int64) + 1
    if rows.str.contains('"', literal=True).any():
        rows = rows.str.replace_all('"', "", literal=True)
    fields = rows.str.split_exact(mark, len(names) - 1).struct.unnest()
    return fields.rename(dict(zip(fields.columns, names, strict=True))).fill_null(""), widths


def _by_record(records: Records, names: Sequence[str]) -> tuple[pl.DataFrame, pl.Series]:
    """The cells below the header and how many each row has, read with their quotation marks."""
    width, schema = len(names), dict.fromkeys(names, pl.String)
    frames, widths = [pl.DataFrame(schema=schema)], [pl.Series(dtype=pl.Int64)]
    while batch := list(islice(records, CHUNK)):
        widths.append(pl.Series([len(cells) for cells in batch], dtype=pl.Int64))
        even = (cells if len(cells) == width else (cells + [""] * width)[:width] for cells in batch)
        columns = dict(zip(names, zip(*even, strict=True), strict=True))
        frames.append(pl.DataFrame(columns, schema=schema))
    return pl.concat(frames), pl.concat(widths)


def _records(text: str, mark: str, file: str, width: int = 0) -> Records:
    """Every record; UnreadableFileError at a quotation mark that was never closed.

    Args:
        text: the whole file.
        mark: parts the cells.
        file: for messages.
        width: how many names the header has, once it is known.
    """
    reader = csv.reader((line[0] for line in LINE.finditer(text)), delimiter=mark, strict=True)
    number, line = 0, 0
    try:
        for number, cells in enumerate(reader, start=1):
            if reader.line_num > line + 1 and _swallowed(cells, mark, width):
                raise UnreadableFileError(
                    f'{file}, row {number}: a quotation mark (") opened here is closed in a later row'
                )
            line = reader.line_num
            yield cells
    except csv.Error as error:
        raise UnreadableFileError(
            f'{file}, row {number + 1}: {error}; look for a stray quotation mark (") from here on'
        ) from error


def _swallowed(cells: list[str], mark: str, width: int) -> bool:
    """Whether a cell over several lines holds whole rows, or a record of the wrong width parts of two."""
    if width <= 1:
        return False
    broken = [cell for cell in cells if "\n" in cell or "\r" in cell]
    if len(cells) != width and any(mark in cell for cell in broken):
        return True
    inside = chain.from_iterable(cell.splitlines() for cell in broken)
    whole_rows = any(line.count(mark) >= width - 1 for line in inside)
    marks = [cell.count(mark) for cell in broken]
    return whole_rows or any(count and count % (width - 1) == 0 for count in marks)

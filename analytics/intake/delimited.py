"""CSV files to sheets of text, a column at a time where every line is plainly a row, else record by record."""

import csv
import io
from collections.abc import Collection, Iterator, Sequence
from itertools import chain, islice

import polars as pl

from analytics.errors import UnreadableFileError
from analytics.intake.dialect import decode, split_mark
from analytics.intake.header import find_header, name_columns
from analytics.intake.limits import HEAD_ROWS, MOST_COLUMNS, MOST_ROWS
from analytics.intake.sheet import FAULTS, Sheet
from analytics.intake.sources import Source

CHUNK = 50_000
Records = Iterator[list[str]]


def read_delimited(source: Source, known: Collection[str]) -> Sheet:
    """A text file as a sheet; UnreadableFileError where its marks or quotation marks make no table."""
    mark, text = split_mark(decode(source.content, source.file))
    head = list(islice(_records(text, mark, source.file), HEAD_ROWS))
    at = find_header(head, known, source.file)
    names = name_columns(head, at, known, source.file)
    if len(names) > MOST_COLUMNS:
        raise UnreadableFileError(f"{source.file}: {len(names)} columns; at most {MOST_COLUMNS} are read")
    lines = _lines(text)
    if _splits_alone(lines, mark, at + 1, len(names)):
        frame, widths = _by_line(lines.slice(at + 1), mark, names)
    else:
        frame, widths = _by_record(islice(_records(text, mark, source.file, len(names)), at + 1, None), names)
    if frame.height > MOST_ROWS:
        raise UnreadableFileError(f"{source.file}: {frame.height} rows; at most {MOST_ROWS} are read, split the file")
    numbers = pl.int_range(at + 2, at + 2 + frame.height, dtype=pl.Int64, eager=True)
    blank = pl.all_horizontal(pl.all().str.strip_chars() == "")
    filled = frame.select(~blank).to_series()
    odd = filled & (widths != len(names))
    faults = _uneven(numbers.filter(odd), widths.filter(odd), len(names))
    return Sheet(
        (source.stem,), source.file, source.sha256, frame.filter(filled), numbers.filter(filled), faults=faults
    )


def _uneven(numbers: pl.Series, widths: pl.Series, wanted: int) -> pl.DataFrame:
    """A fault for each row that has more or fewer cells than there are names: its cells may have shifted."""
    rows = pl.DataFrame({"row": numbers, "width": widths})
    reason = pl.format(f"the row has {{}} cells, the header {wanted}", "width")
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
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
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

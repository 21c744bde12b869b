"""Files to sheets of text: every cell as it was written, nothing inferred."""

import csv
import hashlib
import io
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from analytics.contract.tables import TABLES
from analytics.errors import UnknownNameError, UnreadableFileError

DELIMITERS = ",;\t"
ROW = "row"
READERS = {".csv"}
NEVER_CLOSED_LINES = 3
"""A cell of a short-text table that spans more lines than this was opened by a stray quote."""


@dataclass(frozen=True)
class Sheet:
    """One file's table as text.

    ``rows`` has a column a header, lower-cased, and ``row``, the number a spreadsheet shows beside it (the
    header is row 1). ``ragged`` maps a row with too few or too many cells to how many it has.
    """

    table: str
    file: str
    sha256: str
    rows: pl.DataFrame
    ragged: dict[int, int]
    decimal_comma: bool


def find_files(paths: Iterable[Path]) -> list[Path]:
    """The files given, and those in the folders given, in order of name."""
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(entry for entry in path.iterdir() if entry.suffix.lower() in READERS)
            if not inside:
                raise UnreadableFileError(f"{path}: no .csv file in this folder")
            found += inside
        elif path.is_file():
            found.append(path)
        else:
            raise UnreadableFileError(f"{path}: no such file or folder")
    return found


def read_sheet(path: Path) -> Sheet:
    """One CSV file as a sheet; UnreadableFileError or UnknownNameError where it is not one of our tables."""
    table = path.stem.lower()
    if path.suffix.lower() not in READERS:
        raise UnreadableFileError(f"{path.name}: only .csv files are read; save the sheet as CSV and load that")
    if table not in TABLES:
        kind = "table name"
        raise UnknownNameError(kind, path.name, (f"{name}.csv" for name in TABLES))
    try:
        content = path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(f"{path}: cannot be read ({error.strerror})") from error
    text = decode(content, path.name)
    delimiter = guess_delimiter(text)
    header, body, ragged = parse(text, delimiter, path.name)
    columns = {name: [cells[i] for cells in body] for i, name in enumerate(header)}
    rows = pl.DataFrame(columns, schema=dict.fromkeys(header, pl.String)).with_row_index(ROW, offset=2)
    rows = rows.with_columns(pl.col(ROW).cast(pl.Int64))
    blank = pl.all_horizontal(pl.col(name).str.strip_chars() == "" for name in header)
    return Sheet(
        table,
        path.name,
        hashlib.sha256(content).hexdigest(),
        rows.filter(~blank),
        ragged,
        decimal_comma=delimiter != ",",
    )


def decode(content: bytes, file: str) -> str:
    """Text of a file: UTF-16 by its mark, else UTF-8 with or without a mark, else Windows-1252."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16")
    if b"\x00" in content:
        raise UnreadableFileError(f"{file}: this is not a text file; save it as CSV (UTF-8)")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def guess_delimiter(text: str) -> str:
    """The mark that splits the header into most cells."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return max(DELIMITERS, key=lambda mark: len(next(csv.reader([header], delimiter=mark), [])))


def parse(text: str, delimiter: str, file: str) -> tuple[list[str], list[list[str]], dict[int, int]]:
    """The header, the rows made as wide as it, and the rows that were not (by row number)."""
    records = _records(text, delimiter, file)
    header = [name.strip().lower() for name in next(records, [])]
    if not any(header):
        raise UnreadableFileError(f"{file}: empty; the first row must hold the column names")
    repeated = [name for name, count in Counter(header).items() if count > 1 and name]
    if repeated:
        raise UnreadableFileError(f"{file}: the column {repeated[0]} is there twice; rename or remove one")
    if ROW in header:
        header[header.index(ROW)] = "row (theirs)"
    header = [name or f"column {i + 1}" for i, name in enumerate(header)]
    body, ragged = [], {}
    for number, cells in enumerate(records, start=2):
        if len(cells) != len(header) and any(cell.strip() for cell in cells):
            ragged[number] = len(cells)
        body.append((cells + [""] * len(header))[: len(header)])
    return header, body, ragged


def _records(text: str, delimiter: str, file: str) -> Iterator[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell.count("\n") > NEVER_CLOSED_LINES for cell in cells):
                raise UnreadableFileError(f'{file}, row {number}: a quotation mark (") opened here is never closed')
            yield cells
    except csv.Error as error:
        raise UnreadableFileError(
            f'{file}, row {number + 1}: {error}; look for a stray quotation mark (") from here on'
        ) from error

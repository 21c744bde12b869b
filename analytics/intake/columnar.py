"""Parquet files to sheets of text."""

import io
import os
from collections.abc import Collection, Iterator
from contextlib import contextmanager

import polars as pl

from analytics.errors import UnreadableFileError
from analytics.holding import until_all_left
from analytics.intake.header import name_columns
from analytics.intake.limits import MOST_CELLS, MOST_COLUMNS, MOST_ROWS, refuse_heavy
from analytics.intake.sheet import Sheet, filled_rows
from analytics.intake.sources import Source

NOT_ONE_VALUE = (pl.List, pl.Array, pl.Struct, pl.Object, pl.Duration)
STRANGE = "(not one value)"
WHOLE = 2**53
FIRST_ROW = 2
BAD = (pl.exceptions.PolarsError, pl.exceptions.PanicException, OSError, ValueError, TypeError)


def read_columnar(source: Source, known: Collection[str]) -> Sheet:
    """A Parquet file as a sheet of text; UnreadableFileError where it is damaged or would not fit."""
    try:
        with _quiet():
            lazy = pl.scan_parquet(io.BytesIO(source.content))
            schema = lazy.collect_schema()
            _refuse_large(int(lazy.select(pl.len()).collect().item()), len(schema), source.file)
            frame = lazy.collect().select(_text(name, dtype) for name, dtype in schema.items())
    except BAD as error:
        raise UnreadableFileError(f"{source.file}: damaged or not a Parquet file; export it again") from error
    if not frame.width:
        raise UnreadableFileError(f"{source.file}: empty; it has no column")
    refuse_heavy(frame, source.file)
    names = name_columns([frame.columns], 0, known, source.file)
    frame = frame.rename(dict(zip(frame.columns, names, strict=True))).fill_null("")
    numbers = pl.int_range(FIRST_ROW, FIRST_ROW + frame.height, dtype=pl.Int64, eager=True)
    filled = filled_rows(frame)
    return Sheet((source.stem,), source.file, source.sha256, frame.filter(filled), numbers.filter(filled))


def _refuse_large(rows: int, columns: int, file: str) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS or rows * columns > 5 * MOST_CELLS:
        raise UnreadableFileError(f"{file}: {rows:,} rows of {columns} columns are more than is read; split the file")


def _text(name: str, dtype: pl.DataType) -> pl.Expr:
    """A column as it would be written in a text file: whole numbers without a point, days in ISO 8601."""
    cells = pl.col(name)
    if isinstance(dtype, NOT_ONE_VALUE):
        return pl.when(cells.is_not_null()).then(pl.lit(STRANGE)).otherwise(None).alias(name)
    if dtype.is_float():
        whole = (cells == cells.round()) & (cells.abs() < WHOLE)
        return pl.when(whole).then(cells.cast(pl.Int64, strict=False).cast(pl.String)).otherwise(cells.cast(pl.String))
    if isinstance(dtype, pl.Decimal):  # its scale's zeros are none of the amount's: 1.250 could be thousands in a text
        return cells.cast(pl.String).str.replace(r"(\.[0-9]*?)0+$", "$1").str.strip_suffix(".")
    return cells.cast(pl.String, strict=False)


@until_all_left
@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what the native reader writes of its own about a damaged file off standard error."""
    kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)

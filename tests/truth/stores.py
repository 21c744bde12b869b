"""Invented businesses loaded through the door, like any business's own."""

from collections.abc import Iterable
from pathlib import Path

import polars as pl

from analytics.answers.loading import load
from analytics.answers.records import Records
from tests.histories import TODAY

NEEDED = ("jobs", "cracks", "callbacks")
"""What finished work and its leak-backs are told by."""


def records_of(tables: dict[str, pl.DataFrame], folder: Path, names: Iterable[str] = NEEDED) -> Records:
    """The records of a business whose tables these are, in a new store in ``folder``."""
    files = folder / "files"
    files.mkdir()
    for name in names:
        plain = tables[name].with_columns(
            pl.col(pl.Float64).cast(pl.String).str.strip_suffix(".0"), pl.col(pl.Decimal).cast(pl.Decimal(16, 2))
        )
        plain.write_csv(files / f"{name}.csv")
    load(folder / "store.duckdb", [files], today=TODAY)
    return Records.of(folder / "store.duckdb")

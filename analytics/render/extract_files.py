"""The files of an extract: CSV that no spreadsheet runs, and a text that says what it is fit for."""

from pathlib import Path

import polars as pl

from analytics.answers.extracting import Shared, about
from analytics.contract.formulas import neutral
from analytics.errors import LeakbackError

ABOUT = "ABOUT.txt"


def write(shared: Shared, folder: Path) -> list[Path]:
    """Write the extract into ``folder``; LeakbackError where anything lies in it already."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise LeakbackError(f"{folder} is not empty; choose a new folder, nothing is overwritten")
        for name, rows in shared.extract.tables.items():
            _plain(rows).write_csv(folder / f"{name}.csv", date_format="%Y-%m-%d")
        (folder / ABOUT).write_text(about(shared), encoding="utf-8")
    except OSError as error:
        raise LeakbackError(f"{folder}: cannot write there ({error.strerror})") from error
    return sorted(folder.iterdir())


def _plain(rows: pl.DataFrame) -> pl.DataFrame:
    texts = rows.select(pl.col(pl.String)).columns
    return rows.with_columns(pl.col(name).map_elements(neutral, return_dtype=pl.String) for name in texts)

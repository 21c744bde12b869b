"""Invented businesses of any size, by the demo's own truth: parts of at most a million cracks, as CSV and as Parquet.

A part is what a branch or a year would bring: its own numbers of jobs and sites, the same crews.
"""

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import polars as pl

from analytics.demo import simulate
from tests.bench.running import tell

CRACKS_A_JOB = 1.91
"""Cracks of all kinds over done jobs, as the demo's truth has it."""
MOST_IN_PART = 1_000_000
OWN_NUMBERS = ("job_id", "site_id", "crack_id", "callback_id", "review_id", "reference")
KINDS = ("csv", "parquet")


def make(folder: Path, cracks: int) -> None:
    """Write about ``cracks`` cracks and all that goes with them below ``folder``, unless they are there already."""
    if (folder / "made").exists():
        return
    for number, tables in enumerate(_parts(cracks)):
        for name, table in tables.items():
            _write(folder, f"{number:02}", name, table)
    (folder / "made").touch()


def _parts(cracks: int) -> Iterator[dict[str, pl.DataFrame]]:
    count = -(-cracks // MOST_IN_PART)
    for number in range(count):
        tables = simulate(seed=number + 1, n_jobs=round(cracks / count / CRACKS_A_JOB))
        own = {name: _numbered(table, number) for name, table in tables.items()}
        yield own if number == 0 else {name: table for name, table in own.items() if name != "rates"}


def _numbered(table: pl.DataFrame, number: int) -> pl.DataFrame:
    named = [name for name in OWN_NUMBERS if name in table.columns]
    return table.with_columns(pl.concat_str(pl.lit(f"P{number:02}"), pl.col(name)).alias(name) for name in named)


def _write(folder: Path, part: str, name: str, table: pl.DataFrame) -> None:
    for kind in KINDS:
        (folder / kind / part).mkdir(parents=True, exist_ok=True)
    table.write_parquet(folder / "parquet" / part / f"{name}.parquet")
    written = table.with_columns(
        pl.col(pl.Float64).cast(pl.String).str.strip_suffix(".0"), pl.col(pl.Decimal).cast(pl.Decimal(16, 2))
    )
    written.write_csv(folder / "csv" / part / f"{name}.csv", line_terminator="\n")


if __name__ == "__main__":
    begun, worked = time.perf_counter(), time.process_time()
    make(Path(sys.argv[1]), int(sys.argv[2]))
    tell(time.perf_counter() - begun, None, processor=time.process_time() - worked)

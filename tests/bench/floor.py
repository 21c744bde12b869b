"""Metrics beside their floor: DuckDB reading the same columns of the store once, with nothing worked out of them.

``python -m tests.bench.floor FOLDER``.
"""

import sys
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import NamedTuple

import duckdb

from analytics.answers.measuring import measure
from analytics.answers.records import Records
from tests.bench.folders import store
from tests.bench.running import tell

_FOLLOWED = {
    "jobs": ("job_id", "status", "done_on", "warranty_months"),
    "callbacks": ("job_id", "crack_id", "reported_on", "finding"),
}
READ: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "leak_back_rate": {"cracks": ("crack_id", "job_id", "resin", "water", "width_mm"), **_FOLLOWED},
    "material_per_metre": {"cracks": ("job_id", "resin", "resin_litres", "length_m"), "jobs": ("job_id", "status")},
    "labour_per_crack": {"cracks": ("job_id", "resin", "labour_minutes"), "jobs": ("job_id", "status")},
}
"""What each metric cannot do without, by table."""


class Beside(NamedTuple):
    """Processor seconds of a scan and of a metric."""

    scan: float
    metric: float


def scan(connection: duckdb.DuckDBPyConnection, metric: str) -> None:
    """Read every value that a metric needs."""
    for table, columns in READ[metric].items():
        found = ", ".join(f"bit_xor(hash({column}))" for column in columns)
        connection.execute(f"select {found} from {table}").fetchall()


def took(work: Callable[[], object]) -> float:
    """Processor seconds, the least of five."""
    seconds = []
    for _ in range(5):
        begun = time.process_time()
        work()
        seconds.append(time.process_time() - begun)
    return min(seconds)


def scan_anew(path: Path, metric: str) -> None:
    """The same of a store opened for it."""
    with duckdb.connect(str(path), read_only=True) as connection:
        scan(connection, metric)


def ask_anew(path: Path, metric: str) -> None:
    """The metric, of a store opened for it."""
    measure(Records.of(path), metric, ["resin"])


def beside(path: Path, metric: str) -> Mapping[str, Beside]:
    """A metric beside its floor: in a store opened for each, and over a connection that has read it before."""
    anew = Beside(took(partial(scan_anew, path, metric)), took(partial(ask_anew, path, metric)))
    with duckdb.connect(str(path), read_only=True) as connection:
        scanned = took(partial(scan, connection, metric))
    records = Records.of(path)
    with records.store.reading():
        asked = took(partial(measure, records, metric, ["resin"]))
    return {"in a store opened for it": anew, "read before": Beside(scanned, asked)}


def main(folder: Path) -> None:
    """Every metric."""
    tell(0.0, {metric: beside(store(folder), metric) for metric in READ}, processor=0.0)


if __name__ == "__main__":
    main(Path(sys.argv[1]))

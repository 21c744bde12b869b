"""The floor: DuckDB reading the same columns of the store once, with nothing worked out of them.

``python -m tests.bench.floor FOLDER``.
"""

import sys
import time
from collections.abc import Mapping
from pathlib import Path

import duckdb

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


def scan(connection: duckdb.DuckDBPyConnection, metric: str) -> float:
    """Processor seconds of reading every value a metric needs, the least of five."""
    seconds = []
    for _ in range(5):
        begun = time.process_time()
        for table, columns in READ[metric].items():
            found = ", ".join(f"bit_xor(hash({column}))" for column in columns)
            connection.execute(f"select {found} from {table}").fetchall()
        seconds.append(time.process_time() - begun)
    return min(seconds)


def main(folder: Path) -> None:
    """Every metric's floor."""
    with duckdb.connect(str(store(folder)), read_only=True) as connection:
        found = {metric: scan(connection, metric) for metric in READ}
    tell(sum(found.values()), found, processor=sum(found.values()))


if __name__ == "__main__":
    main(Path(sys.argv[1]))

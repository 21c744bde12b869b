"""An awkward file with the sin it is named for, and what must become of its rows."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tests.intake.brought import Rows, csv_bytes

HEAD = ["job_id", "crew_id", "status", "done_on", "price_charged"]
JOBS: Rows = [HEAD, ["J-1", "C1", "done", "2024-01-15", "780.50"], ["J-2", "C2", "done", "2024-02-20", "910"]]
GOOD = {"jobs": (2, 2, 0, 0)}
CRACK_HEAD = ["crack_id", "job_id", "length_m", "width_mm", "resin"]
Counts = dict[str, tuple[int, int, int, int]]


@dataclass(frozen=True)
class Case:
    """Files by name, the counts of each table (read, clean, repeated, rejected) or the error's words, and cells.

    ``cells`` are values that must be among the clean ones, by table and column.
    """

    sin: str
    files: Callable[[], Mapping[str, bytes]]
    counts: Counts = field(default_factory=lambda: dict(GOOD))
    error: str = ""
    cells: Mapping[tuple[str, str], set[Any]] = field(default_factory=dict)
    column_map: str = ""
    reason: str = ""


def jobs(content: bytes, name: str = "jobs.csv") -> Callable[[], Mapping[str, bytes]]:
    return lambda: {name: content}


def text(lines: str, encoding: str = "utf-8") -> Callable[[], Mapping[str, bytes]]:
    return jobs(lines.encode(encoding))


def with_row(*rows: list[object]) -> bytes:
    return csv_bytes([*JOBS, *rows])

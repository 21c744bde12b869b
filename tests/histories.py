"""Small invented histories, written as files like any business's own."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

Tables = Mapping[str, Sequence[Mapping[str, object]]]
TODAY = date(2026, 11, 1)

DONE_JOB = {"job_id": "J-1", "crew_id": "C01", "status": "done", "done_on": "2024-01-15", "quoted_on": "2024-01-02"}
CRACK = {"crack_id": "K-1", "job_id": "J-1", "length_m": 2, "width_mm": 0.5, "wall_thickness_mm": 200}


def write_tables(folder: Path, tables: Tables) -> Path:
    """Write rows as CSV files named after their tables; a value None is a blank cell."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        lines = [",".join(columns)]
        lines += [",".join("" if row.get(column) is None else str(row[column]) for column in columns) for row in rows]
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder

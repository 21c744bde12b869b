"""Stores made for tests: two loads of a small history, and some as earlier versions made them."""

import atexit
import os
import shutil
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from analytics.answers.loading import load
from tests.histories import TODAY, write_tables

JOBS = 300


def asked(name: str, usual: int) -> int:
    """How often to do a thing: as the environment says, else a number that is quick."""
    return int(os.environ.get(name, usual))


def write_first_and_second(folder: Path) -> None:
    """Files of a first load, and of a second that changes, adds and has a row that is rejected."""
    jobs = [
        {"job_id": f"J-{n}", "crew_id": f"C{n % 7:02}", "status": "done", "done_on": "2024-01-15", "price_charged": n}
        for n in range(JOBS)
    ]
    cracks = [{"crack_id": f"K-{n}", "job_id": f"J-{n}", "length_m": 1 + n % 5, "width_mm": 0.5} for n in range(JOBS)]
    calls = [
        {"callback_id": f"B-{n}", "job_id": f"J-{n}", "reported_on": "2024-06-01", "finding": "leak_back"}
        for n in range(0, JOBS, 10)
    ]
    write_tables(folder / "first", {"jobs": jobs, "cracks": cracks, "callbacks": calls})
    changed = [job | {"price_charged": 1000} for job in jobs[: JOBS // 2]]
    new = [job | {"job_id": f"N-{n}"} for n, job in enumerate(jobs)]
    write_tables(folder / "second", {"jobs": [*changed, *new, {"job_id": "bad", "status": "huh"}]})


def made_store(folder: Path) -> Path:
    """A store with the first load in it, and both loads' files beside it."""
    shutil.copytree(_first_made().name, folder, dirs_exist_ok=True)
    return folder / "store.duckdb"


def another_store(folder: Path) -> Path:
    """The same again with a key of its own."""
    write_first_and_second(folder)
    load(folder / "store.duckdb", [folder / "first"], today=TODAY)
    return folder / "store.duckdb"


@cache
def _first_made() -> TemporaryDirectory[str]:
    folder = TemporaryDirectory()
    atexit.register(folder.cleanup)
    another_store(Path(folder.name))
    return folder


def older_store(path: Path, version: int = 1) -> Path:
    """A store as that version made it: there are those of versions 1 and 3."""
    with duckdb.connect(str(path)) as connection:
        connection.execute(Path(__file__).with_name(f"version_{version}.sql").read_text(encoding="utf-8"))
    return path


def copied(folder: Path, to: Path) -> Path:
    """A copy of a folder with stores that nobody holds."""
    shutil.copytree(folder, to)
    return to

"""Acts on a store by programs of their own, so that tests can kill them, starve them and set them on each other."""

import hashlib
import os
import sys
import time
from collections.abc import Callable, Mapping
from functools import partial
from itertools import cycle
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerProcess
from pathlib import Path
from typing import Any

from analytics.answers import keeping, loading
from analytics.answers.acting import acting
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.errors import RecordsMovedError
from analytics.store import Ask, Store
from analytics.store.checking import check
from analytics.store.committing import keep_model
from tests.histories import TODAY, write_tables

if "PYTEST_XDIST_WORKER" in os.environ:
    vars(sys.modules["__main__"]).pop("__file__", None)  # a test worker's main program cannot be run again by a child
CONTEXT = get_context("forkserver")
CONTEXT.set_forkserver_preload(["tests.store.acts"])
READY, DONE = "ready", "done"
JOBS_A_LOAD = 50
LEAST_CHANGES = 2


def load(store: Path) -> None:
    loading.load(store, [store.parent / "second"], today=TODAY)


def first_load(store: Path) -> None:
    loading.load(store, [store.parent / "first"], today=TODAY)


def undo(store: Path) -> None:
    loading.undo(store)


def fit(store: Path) -> None:
    """Keep a model: fitting it changes nothing, keeping it does."""
    records = Records.of(store)
    state = records.ask.state
    assert state is not None
    keep_model(records.store, '{"made": "up"}' * 1000, state=state, hemisphere="north", act=acting(store))


def backup(store: Path) -> None:
    keeping.backup(store, backup_path(store))


def restore(store: Path) -> None:
    keeping.restore(store, backup_path(store))


def upgrade(store: Path) -> None:
    keeping.upgrade(store)


ACTS: Mapping[str, Callable[[Path], None]] = {
    act.__name__: act for act in (load, first_load, undo, fit, backup, restore, upgrade)
}


def backup_path(store: Path) -> Path:
    return store.with_name("backup.duckdb")


def held(store: Path) -> tuple[Any, ...]:
    """What a store holds, as one value: rows, loads, models and the trail, without what the clock and chance gave."""
    if not store.exists():
        return ()
    opened = Store(store)
    with opened.reading():
        if opened.version() == 1:
            return (1, opened.frame("select count(*) from jobs").item())
        frames = [opened.frame(f"select * from {name} order by all") for name in TABLES]
        rows = hashlib.sha256("".join(frame.write_csv() for frame in frames).encode()).hexdigest()
        trail = opened.frame("select what, load from audit order by number").rows()
        loads = opened.frame("select batch from loads order by batch")["batch"].to_list()
        return (opened.version(), rows, loads, opened.frame("select count(*) from models").item(), trail)


def perform(act: str, store: Path, pipe: Connection) -> None:
    """Do one act when told to, and say when it is done."""
    pipe.send(READY)
    pipe.recv()
    ACTS[act](store)
    pipe.send(DONE)


def start(act: str, store: Path) -> tuple[ForkServerProcess, Connection]:
    """A program that is about to do ``act``; it waits for a word."""
    ours, theirs = CONTEXT.Pipe()
    process = CONTEXT.Process(target=perform, args=(act, store, theirs), daemon=True)
    process.start()
    theirs.close()
    assert ours.recv() == READY
    return process, ours


def read_totals(store: Path, seconds: float, seed: int, pipe: Connection) -> None:
    """Ask several questions at a time, as a page does, for a while: each time all from one load, or it counts as wrong.

    Load n leaves ``JOBS_A_LOAD * n`` open jobs, each with the price n, so totals of two loads cannot agree.
    """
    pause_s = 0.002 * (seed + 1)
    found: dict[str, Any] = {"reads": 0, "wrong": 0, "again": 0, "slowest_s": 0.0, "errors": []}
    pipe.send(READY)
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        began = time.monotonic()
        try:
            found["wrong"] += not _agree(store, found)
        except Exception as error:  # noqa: BLE001 (what the test counts)
            found["errors"].append(repr(error))
        found["reads"] += 1
        found["slowest_s"] = max(found["slowest_s"], time.monotonic() - began)
        time.sleep(pause_s)
    pipe.send(found)


def _agree(store: Path, found: dict[str, Any]) -> bool:
    """As a door asks: once, and once more with writers kept waiting."""
    try:
        return _consistent(Ask.of(Store(store)))
    except RecordsMovedError:
        found["again"] += 1
        with Store(store).turns.reading():
            return _consistent(Ask.of(Store(store)))


def _consistent(ask: Ask) -> bool:
    first = dict(ask("records").select("table_name", "row_count").iter_rows())["jobs"]
    store, state = ask.store, ask.state
    prices = store.frame("select min(price_quoted)::integer a, max(price_quoted)::integer b from jobs", state=state)
    opened = store.frame("select count(*) n from jobs where status = 'quoted'", state=state).item()
    low, high = prices.row(0)
    return bool(JOBS_A_LOAD * low == JOBS_A_LOAD * high == opened == first)


def write_load_folders(folder: Path, count: int) -> None:
    """The files of ``count`` loads, as ``read_totals`` expects them."""
    for load_number in range(1, count + 1):
        jobs = [
            {"job_id": f"J-{n}", "status": "quoted", "quoted_on": "2026-01-05", "price_quoted": load_number}
            for n in range(JOBS_A_LOAD * load_number)
        ]
        write_tables(folder / f"load-{load_number}", {"jobs": jobs})


def write_loads(store: Path, seconds: float, pipe: Connection) -> None:
    """Load one after the other, take all but the first back, and again, for a while."""
    folders = sorted(store.parent.glob("load-*"))
    done: dict[str, Any] = {"changes": 0, "slowest_s": 0.0, "errors": []}
    loads: list[Callable[[Path], None]] = [partial(_load_folder, folder) for folder in folders[1:]]
    steps = cycle([*loads, *[undo] * len(loads)])
    pipe.send(READY)
    until = time.monotonic() + seconds
    while time.monotonic() < until or done["changes"] < LEAST_CHANGES:
        began = time.monotonic()
        try:
            next(steps)(store)
        except Exception as error:  # noqa: BLE001 (what the test counts)
            done["errors"].append(repr(error))
        done["changes"] += 1
        done["slowest_s"] = max(done["slowest_s"], time.monotonic() - began)
    pipe.send(done)


def _load_folder(folder: Path, store: Path) -> None:
    loading.load(store, [folder], today=TODAY)


def is_sound(store: Path) -> bool:
    return not store.exists() or check(Store(store)).is_sound

"""One store, several people: readers beside a writer, in one program and in many."""

import threading
import time
from collections.abc import Callable
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import duckdb
import pytest

from analytics.answers.loading import load
from analytics.answers.records import Records
from analytics.errors import CannotWriteError, RecordsMovedError, StoreError
from analytics.store import Store
from analytics.store.kept import Kept
from analytics.store.turns import Turns
from tests.histories import TODAY
from tests.store.acts import CONTEXT, READY, read_totals, write_load_folders, write_loads
from tests.store.made import asked, made_store

READERS, THREADS = 8, 3
SECONDS = asked("LEAKBACK_SHARING_SECONDS", 4)


@pytest.fixture
def shared(tmp_path: Path) -> Path:
    """A store with the first of six loads in it."""
    write_load_folders(tmp_path, 6)
    store = tmp_path / "store.duckdb"
    load(store, [tmp_path / "load-1"], today=TODAY)
    return store


def begun(target: Callable[..., None], *arguments: object) -> Connection:
    """A program that has begun."""
    ours, theirs = CONTEXT.Pipe()
    CONTEXT.Process(target=target, args=(*arguments, theirs), daemon=True).start()
    theirs.close()
    assert ours.recv() == READY
    return ours


def test_readers_beside_a_writer_never_fail_and_never_see_half_a_load(
    shared: Path, record_property: Callable[[str, object], None]
) -> None:
    writer = begun(write_loads, shared, SECONDS)
    readers = [begun(read_totals, shared, SECONDS, number) for number in range(READERS)]
    wrote, found = writer.recv(), [reader.recv() for reader in readers]
    record_property("writer", wrote)
    record_property("readers", found)
    assert wrote["errors"] == []
    assert wrote["changes"] >= 2
    assert [reader["errors"] for reader in found] == [[]] * READERS
    assert [reader["wrong"] for reader in found] == [0] * READERS
    assert min(reader["reads"] for reader in found) >= 1


def test_threads_of_one_program_read_while_it_writes(shared: Path) -> None:
    found: list[dict[str, Any]] = []

    def read(number: int) -> None:
        ours, theirs = Pipe()
        read_totals(shared, SECONDS / 2, number, theirs)
        ours.recv()
        found.append(ours.recv())

    threads = [threading.Thread(target=read, args=(number,)) for number in range(THREADS)]
    for thread in threads:
        thread.start()
    ours, theirs = Pipe()
    write_loads(shared, SECONDS / 2, theirs)
    for thread in threads:
        thread.join()
    assert ours.recv() == READY
    assert ours.recv()["errors"] == []
    assert [(reader["errors"], reader["wrong"]) for reader in found] == [([], 0)] * THREADS


def test_a_page_that_began_before_a_load_does_not_go_on_after_it(shared: Path) -> None:
    records = Records.of(shared)
    load(shared, [shared.parent / "load-2"], today=TODAY)
    with pytest.raises(RecordsMovedError):
        records.ask("records")
    assert Records.of(shared).ask("records")["row_count"][0] == 100


def test_who_keeps_the_turn_reads_one_state_and_cannot_write(shared: Path) -> None:
    with Store(shared).turns.reading():
        records = Records.of(shared)
        assert records.ask("records")["row_count"][0] == 50
        with pytest.raises(CannotWriteError, match="while it is being read"):
            load(shared, [shared.parent / "load-2"], today=TODAY)
    load(shared, [shared.parent / "load-2"], today=TODAY)


def test_a_writer_waits_for_readers_says_so_and_gives_up_in_time(
    shared: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analytics.store.turns.SAID_AFTER_SECONDS", 0.05)
    reading, stop = threading.Event(), threading.Event()

    def read() -> None:
        with Store(shared).connect():
            reading.set()
            stop.wait(10)

    reader = threading.Thread(target=read)
    reader.start()
    reading.wait(10)
    with pytest.raises(StoreError, match=r"is in use by .*; waited 0 s: try again"), Turns(shared, 0.3).alone():
        pass
    stop.set()
    reader.join()
    assert "waiting for" in caplog.text
    with Turns(shared, 1).alone():
        pass


@pytest.mark.parametrize("writer", ["another", "the first itself"])
def test_who_waits_for_another_reader_keeps_no_writer_waiting(shared: Path, writer: str) -> None:
    store, kept = Store(shared, wait_seconds=5), Kept()
    asking, waiting, written = threading.Event(), threading.Event(), threading.Event()
    answers: list[int] = []

    def write() -> None:
        with Turns(shared, 5).alone():
            written.set()

    def count() -> int:
        asking.set()
        waiting.wait(10)
        if writer == "the first itself":
            write()
        written.wait(5)
        return int(store.frame("select count(*) n from jobs").item())

    def first() -> None:
        with store.reading():
            answers.append(kept.answer("jobs", count))

    def second() -> None:
        with store.reading():
            before = store.frame("select count(*) n from jobs").item()
            waiting.set()
            answers.append(kept.answer("jobs", count))
            assert store.frame("select count(*) n from jobs").item() == before

    readers = [threading.Thread(target=each) for each in (first, second)]
    readers[0].start()
    assert asking.wait(10)
    readers[1].start()
    assert waiting.wait(10)
    if writer == "another":
        write()
    for thread in readers:
        thread.join()
    assert written.is_set()
    assert answers == [50, 50]


def test_a_second_writer_is_told_who_the_first_one_is(shared: Path) -> None:
    writing, stop = threading.Event(), threading.Event()

    def write() -> None:
        with Store(shared).turns.writing("load"):
            writing.set()
            stop.wait(10)

    writer = threading.Thread(target=write)
    writer.start()
    writing.wait(10)
    with (
        pytest.raises(StoreError, match=r"in use by leakback load \(process \d+\)"),
        Turns(shared, 0.1).writing("undo"),
    ):
        pass
    assert Records.of(shared).ask("records")["row_count"][0] == 50  # readers go on
    stop.set()
    writer.join()


def hold_open(store: Path, pipe: Connection) -> None:
    connection = duckdb.connect(str(store))
    pipe.send(READY)
    pipe.recv()
    connection.close()


def test_another_program_that_holds_the_file_is_named(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    holder = begun(hold_open, store)
    for read_only in (True, False):
        with (
            pytest.raises(StoreError, match=r"python\S* \(process \d+\) holds it open; waited 0 s: close that program"),
            Store(store, wait_seconds=0.1).connect(read_only=read_only),
        ):
            pass
    holder.send("stop")
    give_up_at = time.monotonic() + 10
    while time.monotonic() < give_up_at:
        try:
            assert Store(store, wait_seconds=0.1).frame("select max(batch) from loads").item() == 1
            break
        except StoreError:
            continue


def test_a_busy_stream_of_readers_does_not_starve_a_writer(shared: Path) -> None:
    readers = [begun(read_totals, shared, 3, 0) for _ in range(4)]
    began = time.monotonic()
    load(shared, [shared.parent / "load-2"], today=TODAY)
    assert time.monotonic() - began < Store(shared).wait_seconds
    assert [reader.recv()["errors"] for reader in readers] == [[]] * 4

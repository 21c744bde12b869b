"""Backups are whole, checked, for their owner only, and kept in turn."""

import shutil
import stat
from pathlib import Path
from typing import Any

import duckdb
import pytest

from analytics.answers import acting, keeping, loading
from analytics.answers.records import policy_path
from analytics.errors import CannotWriteError, DamagedStoreError, LeakbackError
from analytics.intake import private_path
from analytics.store import Store
from analytics.store.automatic import automatic
from analytics.store.backing_up import keep_backup
from analytics.store.checking import check
from tests.histories import DONE_JOB, TODAY, write_tables
from tests.store.acts import held
from tests.store.made import made_store
from tests.store.test_checking import BLOCK, HEADERS


def permissions(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def load_crew(store: Path, crew: str) -> None:
    files = write_tables(store.parent / crew, {"jobs": [{**DONE_JOB, "crew_id": crew}]})
    loading.load(store, [files], today=TODAY)


def test_a_backup_holds_what_the_store_holds_with_the_key_and_the_policy_beside_it(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    policy_path(store).write_text('hemisphere = "south"\n')
    target = tmp_path / "safe.duckdb"
    done = keeping.backup(store, target)
    assert held(target) == held(store)
    assert done.found.is_sound
    assert private_path(target).read_bytes() == private_path(store).read_bytes()
    assert policy_path(target).read_bytes() == policy_path(store).read_bytes()


def test_everything_that_holds_records_is_for_its_owner_only(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    keeping.backup(store, tmp_path / "safe.duckdb")
    load_crew(store, "C02")
    kept = [path for path in tmp_path.iterdir() if (path.is_file() and "duckdb" in path.name) or "private" in path.name]
    kept += [*automatic(store), *(private_path(path) for path in automatic(store))]
    assert len(kept) >= 8
    assert {permissions(path) for path in kept} == {0o600}
    folders = [store.with_name("store.duckdb.backups"), store.with_name(".store.duckdb.turns")]
    assert {permissions(folder) for folder in folders} == {0o700}


def test_a_backup_takes_the_place_of_an_older_one(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    target = tmp_path / "safe.duckdb"
    keeping.backup(store, target)
    load_crew(store, "C02")
    keeping.backup(store, target)
    assert held(target) == held(store)
    assert not list(tmp_path.glob(".*part*"))


def test_a_backup_is_refused_where_it_would_harm(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    for target, says in (
        (store, "is the store itself"),
        (tmp_path, "is a folder"),
        (tmp_path / "nowhere" / "safe.duckdb", "no folder"),
    ):
        with pytest.raises(LeakbackError, match=says):
            keeping.backup(store, target)
    assert check(Store(store)).is_sound


def test_a_backup_is_there_before_and_after_each_load(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    before = held(store)
    load_crew(store, "C02")
    latest, first = automatic(store)
    assert held(first) == before
    assert held(latest) == held(store)
    loading.undo(store)
    assert held(automatic(store)[0]) == held(store)


def test_the_oldest_backups_go_first(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    policy_path(store).write_text("[keeping]\nbackups = 2\n")
    for crew in ("C02", "C03", "C04"):
        load_crew(store, crew)
    names = [path.name[:6] for path in automatic(store)]
    assert names == ["000004", "000003"]
    folder = store.with_name("store.duckdb.backups")
    assert {path.name[:6] for path in folder.iterdir()} == {"000004", "000003"}


def test_the_same_state_is_not_copied_twice(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    first = keep_backup(Store(store))
    assert first is not None
    before = first.stat().st_mtime_ns
    assert keep_backup(Store(store)) == first
    assert first.stat().st_mtime_ns == before


def test_what_a_killed_program_left_among_the_backups_is_cleared_away(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    folder = store.with_name("store.duckdb.backups")
    (folder / ".000009-0123456789ab.duckdb.part").write_bytes(b"half a copy")
    load_crew(store, "C02")
    assert not list(folder.glob(".*"))


def test_an_empty_store_has_nothing_to_back_up(store_path: Path) -> None:
    assert keep_backup(Store.open_or_create(store_path)) is None


def test_a_store_that_is_not_sound_is_not_backed_up_over_a_sound_backup(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    target = tmp_path / "safe.duckdb"
    keeping.backup(store, target)
    good = held(target)
    with Store(store).connect(read_only=False) as connection:
        connection.execute("update jobs_rows set price_charged = 1 where job_id = 'J-7'")
    with pytest.raises(DamagedStoreError, match="not sound, so it was not backed up"):
        keeping.backup(store, target)
    assert held(target) == good


def test_a_damaged_store_is_not_loaded_into(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    content = bytearray(store.read_bytes())
    content[len(content) // 2 : len(content) // 2 + 300_000] = bytes(300_000)
    store.write_bytes(content)
    with pytest.raises(DamagedStoreError, match="leakback restore"):
        load_crew(store, "C02")


def test_a_backup_of_a_damaged_store_is_refused_or_holds_all(tmp_path: Path) -> None:
    """A store's file is copied as it lies: whatever block of it is damaged, no backup holds anything else."""
    store = made_store(tmp_path)
    good, before, refused = store.read_bytes(), held(store), 0
    for start in range(HEADERS, len(good), BLOCK):
        shutil.rmtree(store.with_name("store.duckdb.backups"), ignore_errors=True)
        harmed = bytearray(good)
        harmed[start + 9] ^= 1
        store.write_bytes(harmed)
        try:
            backup = keep_backup(Store(store))
        except DamagedStoreError:
            refused += 1
            assert automatic(store) == []
        else:
            assert backup is not None
            assert held(backup) == before
    assert refused >= 4


def test_a_backup_holds_what_is_still_in_the_log(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with duckdb.connect(str(store), config={"checkpoint_threshold": "1GB"}) as connection:
        connection.execute("pragma disable_checkpoint_on_shutdown")
        connection.execute("update meta set value = 'changed' where name = 'key_fingerprint'")
    assert store.with_name("store.duckdb.wal").exists()
    shutil.rmtree(store.with_name("store.duckdb.backups"))
    assert keep_backup(Store(store)) is not None
    with duckdb.connect(str(automatic(store)[0]), read_only=True) as connection:
        assert connection.execute("select value from meta where name = 'key_fingerprint'").fetchall() == [("changed",)]


def test_a_backup_that_cannot_be_made_stops_a_load_before_it_begins(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    folder = store.with_name("store.duckdb.backups")
    shutil.rmtree(folder)
    folder.write_text("in the way")
    with pytest.raises(CannotWriteError, match="cannot be written"):
        load_crew(store, "C02")
    assert check(Store(store)).loads == 1


def test_a_backup_that_cannot_be_made_afterwards_does_not_take_the_load_back(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = made_store(tmp_path)
    made, before = iter([True, False]), keep_backup

    def once(*words: Any, **more: Any) -> Path | None:
        if next(made):
            return before(*words, **more)
        raise CannotWriteError("full")

    monkeypatch.setattr(acting, "keep_backup", once)
    load_crew(store, "C02")
    assert check(Store(store)).loads == 2
    assert "the load is done, but no backup of it could be made: full" in caplog.text

"""The engine's settings, and what a person is told of its errors."""

from pathlib import Path

import duckdb
import pytest

from analytics.errors import CannotWriteError, DamagedStoreError, StoreError
from analytics.store import Store, engine
from tests.store.made import made_store

STORE = Path("shop.duckdb")


@pytest.mark.parametrize(
    ("machine_mib", "taken_mib"), [(128, 256), (512, 256), (1024, 512), (3000, 1500), (8192, 2048), (262_144, 2048)]
)
def test_half_of_the_memory_is_taken_within_bounds(machine_mib: int, taken_mib: int) -> None:
    assert engine.memory_mib(machine_mib) == taken_mib


def test_a_container_that_allows_less_than_the_machine_has_is_minded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    limit = tmp_path / "memory.max"
    limit.write_text(f"{1024 * engine.MEBIBYTE}\n")
    unlimited = tmp_path / "unlimited"
    unlimited.write_text("max\n")
    monkeypatch.setattr(engine, "MEMORY_LIMITS_OF_A_CONTAINER", (tmp_path / "none", unlimited, limit))
    engine.settings.cache_clear()
    assert engine.settings()["memory_limit"] == "512MiB"
    engine.settings.cache_clear()


def test_every_connection_has_the_settings_and_cannot_change_them(tmp_path: Path) -> None:
    store = Store(made_store(tmp_path))
    for read_only in (True, False):
        with store.connect(read_only=read_only) as connection:
            [found] = connection.execute(
                "select current_setting('memory_limit'), current_setting('threads')::varchar, "
                "current_setting('temp_directory'), current_setting('enable_external_access')"
            ).fetchall()
            assert (found[1], found[3]) == (engine.settings()["threads"], False)
            assert Path(found[2]).parent == store.path.with_name(".store.duckdb.spill")
            assert float(found[0].split()[0]) > 0
            for setting in (
                "memory_limit = '1GB'",
                "threads = 1",
                "temp_directory = '/'",
                "max_temp_directory_size = '1GB'",
            ):
                with pytest.raises(duckdb.InvalidInputException, match="locked"):
                    connection.execute(f"set {setting}")


@pytest.mark.parametrize(
    ("error", "kind", "says"),
    [
        (duckdb.IOException("Could not write file: No space left on device"), CannotWriteError, "no room left"),
        (duckdb.IOException("Could not write file: File too large"), CannotWriteError, "no room left"),
        (duckdb.IOException('Cannot open file "x": Permission denied'), CannotWriteError, "allow it, or choose"),
        (duckdb.IOException('Cannot open file "x": Read-only file system'), CannotWriteError, "allow it, or choose"),
        (duckdb.IOException("... created with a newer version of DuckDB"), StoreError, "update leakback"),
        (duckdb.OutOfMemoryException("could not allocate"), StoreError, "ask for less at once"),
        (duckdb.Error("Corrupt database file: computed checksum"), DamagedStoreError, "`leakback restore --store shop"),
        (duckdb.IOException("Could not read enough bytes"), DamagedStoreError, "`leakback restore --store shop"),
    ],
)
def test_an_error_of_the_engine_says_what_to_do(
    error: duckdb.Error, kind: type[StoreError], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("shop.duckdb.backups").mkdir()
    Path("shop.duckdb.backups", "000001-0123456789ab.duckdb").touch()
    meaning = engine.understood(error, STORE)
    assert type(meaning) is kind
    assert says in str(meaning)
    assert "\n" not in str(meaning)


def test_no_backup_is_offered_where_there_is_none(tmp_path: Path) -> None:
    page = tmp_path / "october.html"
    page.write_text("<html>", encoding="utf-8")
    with pytest.raises(DamagedStoreError, match="name the store's file with --store; no automatic backup") as refused:
        Store(page).version()
    assert "leakback restore" not in str(refused.value)


def test_a_mistake_in_our_own_sql_is_not_taken_for_damage() -> None:
    error = duckdb.ParserException("syntax error")
    assert engine.understood(error, STORE) is error

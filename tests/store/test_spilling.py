"""What does not fit into the memory is spilt beside the store: for its owner only, and gone afterwards."""

import stat
from contextlib import nullcontext
from pathlib import Path

import pytest

from analytics.errors import StoreError
from analytics.store import Store, engine
from analytics.store.spilling import room_to_spill
from tests.store.made import made_store

ROWS = 1_500_000
LARGE = f"""
select sum(place * number) as total, count(*) as rows
from (
    select number, row_number() over (order by md5(cast(number as varchar))) as place
    from range({ROWS}) as r (number)
)
"""


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(made_store(tmp_path))


def folder_of(store: Store) -> Path:
    return store.path.with_name(".store.duckdb.spill")


def limited(monkeypatch: pytest.MonkeyPatch, memory: str) -> None:
    usual = engine.settings()
    monkeypatch.setattr(engine, "settings", lambda: usual | {"memory_limit": memory})


def test_a_query_larger_than_the_memory_spills_and_answers_equal(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    with store.connect() as connection:
        roomy = connection.execute(LARGE).fetchall()
        assert list(folder_of(store).iterdir()) == []
    limited(monkeypatch, "64MiB")
    with store.connect() as connection:
        tight = connection.execute(LARGE).fetchall()
        [spilt] = folder_of(store).iterdir()
        assert list(spilt.iterdir())
        assert stat.S_IMODE(folder_of(store).stat().st_mode) == 0o700
    assert tight == roomy
    assert not folder_of(store).exists()
    monkeypatch.setattr("analytics.store.database.room_to_spill", lambda _: nullcontext())
    with pytest.raises(StoreError, match="ask for less at once"), store.connect() as connection:
        connection.execute(LARGE).fetchall()


def test_what_a_killed_program_spilt_is_cleared_away_once_nobody_has_the_store_open(store: Store) -> None:
    left = folder_of(store) / "4711-0123456789abcdef" / "duckdb_temp_storage-0.tmp"
    with store.connect():
        left.parent.mkdir()
        left.write_bytes(b"rows")
        with room_to_spill(store.path):
            assert left.exists()
    assert folder_of(store).exists()
    with store.connect():
        assert list(folder_of(store).iterdir()) == []
    assert not folder_of(store).exists()


def test_a_folder_that_others_may_read_is_closed_to_them_and_one_in_the_way_is_left(store: Store) -> None:
    folder_of(store).mkdir(mode=0o755)
    with room_to_spill(store.path) as where:
        assert where is not None
        assert stat.S_IMODE(where.parent.stat().st_mode) == 0o700
    folder_of(store).write_text("in the way")
    with room_to_spill(store.path) as where:
        assert where is None
    assert store.frame("select max(batch) from loads").item() == 1
    assert folder_of(store).read_text() == "in the way"

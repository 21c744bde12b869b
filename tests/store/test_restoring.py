"""Restoring: checked first, whole or not at all, and what was there is kept."""

from pathlib import Path

import pytest

from analytics.answers import keeping, loading
from analytics.answers.records import policy_path
from analytics.errors import DamagedStoreError, LeakbackError, StoreError
from analytics.intake import private_path
from analytics.store import Store
from analytics.store.automatic import automatic
from analytics.store.checking import check
from tests.histories import DONE_JOB, TODAY, write_tables
from tests.store.acts import held
from tests.store.made import another_store, made_store


def rows(store: Path) -> object:
    return held(store)[1]


@pytest.fixture
def store(tmp_path: Path) -> Path:
    return made_store(tmp_path)


@pytest.fixture
def safe(store: Path) -> Path:
    """A backup of the store, which has had one more load since."""
    target = store.with_name("safe.duckdb")
    keeping.backup(store, target)
    files = write_tables(store.parent / "more", {"jobs": [{**DONE_JOB, "crew_id": "C77"}]})
    loading.load(store, [files], today=TODAY)
    return target


def damage(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[8192:-4096] = bytes(len(content) - 8192 - 4096)
    path.write_bytes(content)


def test_a_restored_store_holds_what_the_backup_holds_and_keeps_what_was_there(store: Path, safe: Path) -> None:
    before = held(store)
    done = keeping.restore(store, safe)
    assert rows(store) == rows(safe)
    assert done.kept is not None
    assert held(done.kept) == before
    assert check(Store(store)).is_sound
    last = Store(store).frame("select what, load from audit order by number desc limit 1").row(0)
    assert last == ("restore", 2)


def test_numbers_of_loads_that_were_restored_away_are_not_given_again(store: Path, safe: Path) -> None:
    keeping.restore(store, safe)
    files = write_tables(store.parent / "new", {"jobs": [{**DONE_JOB, "crew_id": "C78"}]})
    assert loading.load(store, [files], today=TODAY).batch == 3


def test_without_a_file_the_last_sound_backup_is_taken(store: Path, safe: Path) -> None:
    assert safe.exists()
    whole = rows(store)
    latest, older = automatic(store)
    damage(store)
    assert keeping.restore(store, None).backup == latest
    assert rows(store) == whole
    damage(store)
    damage(latest)
    assert keeping.restore(store, None).backup == older


def test_a_backup_whose_trail_cannot_be_read_is_passed_over(store: Path, safe: Path) -> None:
    assert safe.exists()
    latest, older = automatic(store)
    with Store(latest).connect(read_only=False) as connection:
        connection.execute("update audit set details = '{' where number = 1")
    assert keeping.restore(store, None).backup == older


def test_a_backup_that_is_not_sound_restores_nothing(store: Path, safe: Path) -> None:
    before = held(store)
    with Store(safe).connect(read_only=False) as connection:
        connection.execute("update cracks_rows set length_m = 40 where crack_id = 'K-3'")
    with pytest.raises(DamagedStoreError, match="nothing was restored: rows of cracks"):
        keeping.restore(store, safe)
    damage(safe)
    with pytest.raises(StoreError):
        keeping.restore(store, safe)
    assert held(store) == before


@pytest.mark.parametrize("content", [b"", b"not a database", bytes(20_000)])
def test_another_file_is_not_restored(store: Path, content: bytes) -> None:
    before = held(store)
    other = store.with_name("other.duckdb")
    other.write_bytes(content)
    with pytest.raises(StoreError):
        keeping.restore(store, other)
    with pytest.raises(LeakbackError, match="no backup at"):
        keeping.restore(store, store.with_name("none.duckdb"))
    with pytest.raises(LeakbackError, match="is the store itself"):
        keeping.restore(store, store)
    assert held(store) == before


def test_a_lost_store_comes_back_with_its_key(store: Path, safe: Path) -> None:
    key = private_path(store).read_bytes()
    policy_path(safe).write_text('hemisphere = "south"\n')
    for path in (store, private_path(store)):
        path.unlink()
    done = keeping.restore(store, safe)
    assert done.kept is None
    assert private_path(store).read_bytes() == key
    assert policy_path(store).exists()
    files = write_tables(store.parent / "new", {"jobs": [{**DONE_JOB, "crew_id": "C78"}]})
    assert loading.load(store, [files], today=TODAY).tables["jobs"].loaded == 1


def test_a_damaged_private_file_is_replaced_and_kept(store: Path, safe: Path) -> None:
    key = private_path(safe).read_bytes()
    private_path(store).write_text("{broken")
    keeping.restore(store, safe)
    assert private_path(store).read_bytes() == key
    assert store.with_name("store.private.json.damaged").read_text() == "{broken"


def test_the_key_of_another_store_is_not_written_over(store: Path, safe: Path, tmp_path: Path) -> None:
    other = another_store(tmp_path / "other")
    before = held(other)
    with pytest.raises(StoreError, match="holds the key of another store"):
        keeping.restore(other, safe)
    assert held(other) == before
    assert store.exists()


def test_a_backup_without_its_private_file_still_answers(store: Path, safe: Path) -> None:
    for path in (store, private_path(store), private_path(safe)):
        path.unlink()
    done = keeping.restore(store, safe)
    assert not done.has_private_file
    assert "missing" in keeping.check(store).private_file


def test_a_log_that_was_left_behind_is_not_taken_for_the_restored_stores(store: Path, safe: Path) -> None:
    damage(store)
    store.with_name("store.duckdb.wal").write_bytes(b"left behind")
    done = keeping.restore(store, safe)
    assert rows(store) == rows(safe)
    assert done.kept is not None
    assert done.kept.with_name(done.kept.name + ".wal").exists()
    assert not store.with_name("store.duckdb.wal").exists()


def test_a_page_named_as_a_backup_is_none_and_no_other_store_is_pointed_at(store: Path, tmp_path: Path) -> None:
    page = tmp_path / "october.html"
    page.write_text("<html>", encoding="utf-8")
    before = rows(store)
    with pytest.raises(
        DamagedStoreError, match=r"october\.html is damaged or no store, so nothing was restored"
    ) as refused:
        keeping.restore(store, page)
    assert "--store" not in str(refused.value)
    assert rows(store) == before

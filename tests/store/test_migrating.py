"""A store of an older version is brought up, with a backup first, and holds what it held."""

from pathlib import Path
from types import MappingProxyType

import duckdb
import pytest

from analytics.answers import keeping, loading
from analytics.answers.records import Records
from analytics.errors import StoreError
from analytics.store import Store, migrating, schema
from analytics.store.checking import SHAPE_SQL, VIEWS_SQL, check
from analytics.store.restoring import last_sound
from tests.histories import TODAY, write_tables
from tests.store.made import made_store, older_store


@pytest.fixture
def old(store_path: Path) -> Path:
    return older_store(store_path)


def test_an_older_store_says_how_to_bring_it_up(old: Path) -> None:
    with pytest.raises(StoreError, match=r"version 1, this program uses version \d+: `leakback upgrade"):
        Records.of(old)


def test_a_store_of_version_1_is_brought_up_and_holds_what_it_held(old: Path) -> None:
    done = keeping.upgrade(old)
    assert (done.before, done.now) == (1, schema.VERSION)
    assert check(Store(old)).faults == ()
    jobs = Store(old).frame("select job_id, crew_id, price_charged::double p from jobs order by job_id").rows()
    assert jobs == [("J-1", "C09", 810.5), ("J-2", None, None)]
    assert Records.of(old).ask("rejects")["reason"].to_list() == ["huh is not one of the words"]
    told = Store(old).frame("select what, load from audit").rows()
    assert told == [("upgrade", 2)]


SUMS_SQL = "select batch, table_name, brought_sum::varchar s, replaced_sum::varchar r, form from load_sums order by all"


def test_the_sums_of_a_known_store_do_not_change_with_the_engine(old: Path) -> None:
    keeping.upgrade(old)
    assert Store(old).frame(SUMS_SQL).rows() == [  # as first computed: else sound stores would be called unsound
        (1, "cracks", "6662412760554753863", "0", 2),
        (1, "jobs", "23980008906479918725", "0", 2),
        (1, "rates", "4907119918054457014", "0", 2),
        (2, "jobs", "4526843373397334850", "13385354417982727263", 2),
    ]


OF_VERSION_3 = [
    (1, "cracks", "13934354965755579876", "0", 1),
    (1, "jobs", "8623103325998766947", "0", 1),
    (1, "rates", "1666179636384424066", "0", 1),
    (2, "jobs", "3015834997192406714", "6373966673388513582", 1),
    (3, "cracks", "16393040242228076443", "0", 1),
    (3, "jobs", "20656921143226076795", "2249136652610253365", 1),
]
"""As that version wrote them down, in its own form."""


def test_a_store_of_version_3_keeps_its_sums_and_takes_a_load_with_sums_of_today(tmp_path: Path) -> None:
    store = older_store(tmp_path / "store.duckdb", 3)
    assert (keeping.upgrade(store).before, check(Store(store)).faults) == (3, ())
    assert Store(store).frame(SUMS_SQL).rows() == OF_VERSION_3
    with Store(store).connect(read_only=False) as connection:
        connection.execute("delete from meta where name = 'key_fingerprint'")  # its key is gone
    job = {"job_id": "J-2", "crew_id": "C02", "status": "done", "done_on": "2026-01-20", "travel_minutes": 0.1}
    loaded = loading.load(store, [write_tables(tmp_path / "files", {"jobs": [job]})], today=TODAY)
    assert loaded.tables["jobs"].loaded == 1
    *before, last = Store(store).frame(SUMS_SQL).rows()
    assert (before, last[0], last[1], last[4]) == (OF_VERSION_3, 4, "jobs", 2)
    assert check(Store(store)).faults == ()


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ("update cracks_rows set width_mm = 0.79376 where crack_id = 'K-2'", "rows of cracks that load 3 brought"),
        ("update jobs_rows set travel_minutes = 12 where job_id = 'J-2' and loaded_in = 3", "rows of jobs that load 3"),
        ("update jobs_rows set crew_id = 'C02' where job_id = 'J-2' and replaced_in = 3", "rows of jobs that load 3"),
        ("update load_sums set form = 2 where batch = 2", "rows of jobs that load 2 brought"),
        ("update load_sums set form = 3 where batch = 2", "load 2 does not say how its rows of jobs were summed"),
        ("update load_sums set form = null where batch = 3", "load 3 does not say how its rows of jobs were summed"),
        ("insert into jobs_rows (job_id, status, loaded_in) values ('J-9', 'lost', 9)", "load 9 brought 0 rows"),
    ],
)
def test_damage_to_what_version_3_wrote_is_found_once_it_is_brought_up(tmp_path: Path, edit: str, says: str) -> None:
    store = older_store(tmp_path / "store.duckdb", 3)
    keeping.upgrade(store)
    with Store(store).connect(read_only=False) as connection:
        connection.execute(edit)
    assert any(says in fault.said for fault in check(Store(store)).faults)


def test_the_store_as_it_was_is_kept_and_can_be_put_back(old: Path) -> None:
    before = duckdb.connect(str(old)).execute("select * from jobs_rows order by all").fetchall()
    done = keeping.upgrade(old)
    assert done.backup is not None
    assert Store(done.backup).version() == 1
    assert duckdb.connect(str(done.backup)).execute("select * from jobs_rows order by all").fetchall() == before
    keeping.restore(old, done.backup)  # brought up on the way
    assert check(Store(old)).is_sound


def test_a_restore_without_a_name_finds_the_backup_made_before_an_upgrade(tmp_path: Path) -> None:
    store = older_store(tmp_path / "store.duckdb", 3)
    keeping.upgrade(store)
    store.write_bytes(b"damaged")
    keeping.restore(store, last_sound(store))
    assert check(Store(store)).faults == ()
    assert Store(store).frame(SUMS_SQL).rows() == OF_VERSION_3


def test_there_is_nothing_to_do_for_a_store_of_this_version(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    assert keeping.upgrade(store).backup is None


def test_a_store_brought_up_has_the_shape_of_a_new_one_and_takes_a_load(old: Path, tmp_path: Path) -> None:
    keeping.upgrade(old)
    new = Store.open_or_create(tmp_path / "new.duckdb")
    for query in (SHAPE_SQL, VIEWS_SQL):
        assert Store(old).frame(query).rows() == new.frame(query).rows()
    (tmp_path / "store.private.json").unlink(missing_ok=True)
    with Store(old).connect(read_only=False) as connection:
        connection.execute("delete from meta where name = 'key_fingerprint'")  # the made-up key is nobody's
    files = write_tables(tmp_path / "files", {"jobs": [{"job_id": "J-3", "status": "lost"}]})
    assert loading.load(old, [files], today=TODAY).batch == 3


def test_the_next_version_is_a_numbered_file_and_what_it_fills(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = made_store(tmp_path)

    def fill(connection: duckdb.DuckDBPyConnection) -> None:
        connection.execute("insert into weather select 'dry', count(*) from jobs")

    made_up = {schema.VERSION + 1: "create table weather (kind varchar, days bigint)"}
    known = schema.version_sql
    monkeypatch.setattr(migrating, "VERSION", schema.VERSION + 1)
    monkeypatch.setattr(migrating, "version_sql", lambda version: made_up.get(version) or known(version))
    monkeypatch.setattr(migrating, "FILLING", MappingProxyType({schema.VERSION + 1: fill}))
    assert keeping.upgrade(store).now == schema.VERSION + 1
    assert Store(store).frame("select * from weather").rows() == [("dry", 300)]
    assert Store(store).version() == schema.VERSION + 1


def test_a_store_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    with Store(store).connect(read_only=False) as connection:
        connection.execute("update meta set value = '99' where name = 'schema_version'")
    for call in (Records.of, keeping.upgrade):
        with pytest.raises(StoreError, match=r"version 99; this program reads version \d+"):
            call(store)
    assert [fault.part for fault in check(Store(store)).faults] == ["version"]

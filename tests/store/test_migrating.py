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
from tests.histories import TODAY, write_tables
from tests.store.made import made_store, version_1_store


@pytest.fixture
def old(store_path: Path) -> Path:
    return version_1_store(store_path)


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


def test_the_sums_of_a_known_store_do_not_change_with_the_engine(old: Path) -> None:
    keeping.upgrade(old)
    sums = Store(old).frame("select batch, table_name, brought_sum::varchar s, replaced_sum::varchar r from load_sums")
    assert sorted(sums.rows()) == [  # as first computed: were they to change, sound stores would be called unsound
        (1, "cracks", "13934354965755579876", "0"),
        (1, "jobs", "8623103325998766947", "0"),
        (1, "rates", "1666179636384424066", "0"),
        (2, "jobs", "3015834997192406714", "6373966673388513582"),
    ]


def test_the_store_as_it_was_is_kept_and_can_be_put_back(old: Path) -> None:
    before = duckdb.connect(str(old)).execute("select * from jobs_rows order by all").fetchall()
    done = keeping.upgrade(old)
    assert done.backup is not None
    assert Store(done.backup).version() == 1
    assert duckdb.connect(str(done.backup)).execute("select * from jobs_rows order by all").fetchall() == before
    keeping.restore(old, done.backup)  # brought up on the way
    assert check(Store(old)).is_sound


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

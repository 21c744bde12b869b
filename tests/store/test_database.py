from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from analytics.answers.loading import Loaded
from analytics.answers.measuring import measure
from analytics.answers.records import Records
from analytics.errors import LeakbackError, StoreError
from analytics.store import Store
from analytics.store.composing import compose, selects
from tests.histories import DONE_JOB


def test_no_store_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="leakback load"):
        Records.of(tmp_path / "none.duckdb")


def test_another_file_is_not_taken_for_a_store(tmp_path: Path) -> None:
    other = tmp_path / "other.duckdb"
    other.write_bytes(b"not a database, but long enough to look at " * 200)
    with pytest.raises(StoreError, match="cannot be opened as a store"):
        Store.existing(other)
    foreign = tmp_path / "foreign.duckdb"
    duckdb.connect(str(foreign)).close()
    with pytest.raises(StoreError, match="not a leakback store"):
        Store.existing(foreign)


def test_a_store_in_use_is_waited_for_then_named(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    holder = duckdb.connect(str(store_path))
    try:
        with pytest.raises(StoreError, match="in use by another program"):
            Store(store_path, wait_seconds=0.1).version()
    finally:
        holder.close()
    assert Store(store_path).frame("select max(batch) from loads").item() == 1


def test_the_engine_reaches_nothing_but_the_store(
    load_tables: Callable[..., Loaded], store_path: Path, tmp_path: Path
) -> None:
    load_tables({"jobs": [DONE_JOB]})
    other = tmp_path / "other.csv"
    other.write_text("a\n1\n")
    store = Store(store_path)
    for sql in (
        f"select * from '{other}'",
        f"copy jobs to '{tmp_path / 'out.csv'}'",
        "set enable_external_access=true",
    ):
        with store.connect() as connection, pytest.raises(duckdb.Error):
            connection.execute(sql).fetchall()


def test_every_select_says_what_grain_and_why_and_is_one_statement() -> None:
    assert selects()
    for name, text in selects().items():
        lines = text.splitlines()
        assert lines[0].startswith("-- What:"), name
        assert "Grain:" in lines[0], name
        assert lines[1].startswith("-- Why:"), name
        body = [line for line in lines if not line.lstrip().startswith("--")]
        assert ";" not in "\n".join(body), name


def test_only_declared_columns_are_put_into_a_select() -> None:
    with pytest.raises(ValueError, match="not a declared column"):
        compose("ratio", (), (), {"numerator": "1; drop table jobs", "denominator": "length_m"})


def test_a_missing_parameter_is_a_clear_error(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    with pytest.raises(LeakbackError, match="leak_back_rate needs ages_days, ages_months"):
        Records.of(store_path).ask("leak_back_rate")


def test_a_value_that_looks_like_sql_is_only_a_value(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    found = measure(Records.of(store_path), "labour_per_crack", only={"crew": "x' or 1=1; drop table jobs_rows; --"})
    assert found.rows.is_empty()
    assert Store(store_path).frame("select count(*) n from jobs").item() == 1


def test_who_reads_may_write_in_between_and_reads_on(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    store = Store(store_path, wait_seconds=1)
    with store.reading():
        assert store.meta("said") is None
        with store.change() as connection:
            connection.execute("insert into meta values ('said', 'so')")
        assert store.meta("said") == "so"
    assert store.meta("said") == "so"


def test_a_reading_within_a_reading_does_not_end_it(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    store = Store(store_path, wait_seconds=1)
    with store.reading():
        assert store.meta("said") is None
        with store.reading():
            assert store.meta("said") is None
        with store.change() as connection:
            connection.execute("insert into meta values ('said', 'so')")
        assert store.meta("said") == "so"
    with store.writing("more"):
        assert store.meta("said") == "so"

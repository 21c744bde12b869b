"""Putting a batch in, and taking the last one out: one transaction each."""

import hashlib
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import duckdb
import polars as pl

from analytics.contract.batch import Batch, CheckedTable, Part, TableCount
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError, RecordsMovedError
from analytics.store import auditing
from analytics.store.auditing import Act
from analytics.store.database import Store
from analytics.store.ledger import LISTS, ledger, sums_sql


def commit(store: Store, batch: Batch, *, key_fingerprint: str, act: Act) -> tuple[int, dict[str, TableCount]]:
    """Put ``batch`` into the store: all of it or, killed at any instant, none of it.

    A row with a known key and other values replaces the one in force, which is kept with its load.

    Returns:
        The number of the load, and what became of each table's rows.
    """
    with store.change() as connection:
        number = auditing.next_load(connection)
        counts = {name: _put(connection, name, table, number) for name, table in batch.tables.items()}
        connection.execute("insert or replace into meta values ('key_fingerprint', ?)", [key_fingerprint])
        _write_ledger(connection, batch, number, counts, act)
        told = ledger(connection, number) | {"key_fingerprint": key_fingerprint}
        auditing.append(connection, act, "load", told, load=number)
    return number, counts


def _write_ledger(
    connection: duckdb.DuckDBPyConnection, batch: Batch, number: int, counts: dict[str, TableCount], act: Act
) -> None:
    changed = sum(count.loaded for count in counts.values())
    connection.execute("insert into loads values (?, ?, ?)", [number, act.acted_at, changed])
    for name, count in counts.items():
        row = [number, name, count.read, count.loaded, count.unchanged, count.rejected]
        connection.execute("insert into load_tables values (?, ?, ?, ?, ?, ?)", row)
        connection.execute(f"insert into load_sums {sums_sql(name)}", {"batch": number})
    for file in batch.files:
        connection.execute("insert into load_files values (?, ?, ?, ?)", [number, file.table, file.file, file.sha256])
    for table, (listed, columns) in LISTS.items():
        frame = getattr(batch, listed)
        connection.register("incoming_list", frame)
        names = ", ".join(f'"{name}"' for name in columns)
        connection.execute(f"insert into {table} (batch, {names}) select {number}, {names} from incoming_list")


def _put(connection: duckdb.DuckDBPyConnection, name: str, table: CheckedTable, number: int) -> TableCount:
    """Put the clean rows of one table in."""
    loaded = sum(_put_part(connection, name, part, number) for part in table.parts)
    return TableCount(table.read, loaded, table.read - loaded - table.rejected, table.rejected)


def _put_part(connection: duckdb.DuckDBPyConnection, name: str, part: Part, number: int) -> int:
    """Insert the rows that are new or differ, and mark those they replace; how many were inserted."""
    keys = TABLES[name].primary_key()
    connection.register("incoming", part.rows)
    matched = " and ".join(f"n.{key} = o.{key}" for key in keys)
    brought = "incoming"
    if _scalar(connection, f"select count(*) from incoming n semi join {name} o on {matched}"):
        connection.execute(f"create or replace temp table staged as {_differing(name, part, matched)}")
        marked = f"update {name}_rows o set replaced_in = ? from staged n where o.replaced_in is null and {matched}"
        connection.execute(marked, [number])
        brought = "staged"
    names = ", ".join(TABLES[name].columns())
    loaded = _scalar(
        connection, f"insert into {name}_rows ({names}, loaded_in) select {names}, {number} from {brought}"
    )
    connection.unregister("incoming")
    return loaded


def _differing(name: str, part: Part, matched: str) -> str:
    """The SELECT of the incoming rows that are new, or differ from the row in force in a column their file has."""
    schema = TABLES[name]
    keys = schema.primary_key()
    values = ", ".join(
        f"coalesce(n.{column}, o.{column}) as {column}" if column in part.absent else f"n.{column}"
        for column in schema.columns()
    )
    different = (
        " or ".join(
            f"n.{column} is distinct from o.{column}"
            for column in schema.columns()
            if column not in keys and column not in part.absent
        )
        or "false"
    )
    return f"select {values} from incoming n left join {name} o on {matched} where o.{keys[0]} is null or {different}"


def undo(store: Store, act: Act) -> tuple[int, dict[str, int]]:
    """Take the last load back: its rows leave, the rows they replaced are in force again.

    Returns:
        The number of the load, and how many of its rows left each table.
    """
    with store.change() as connection:
        number = _scalar(connection, "select coalesce(max(batch), 0) from loads")
        if number == 0:
            raise LeakbackError(f"nothing to undo: {store.path} holds no load")
        taken = {}
        for name in TABLES:
            taken[name] = _scalar(connection, f"select count(*) from {name}_rows where loaded_in = {number}")
            connection.execute(f"delete from {name}_rows where loaded_in = ?", [number])
            connection.execute(f"update {name}_rows set replaced_in = null where replaced_in = ?", [number])
        for table in ("loads", "load_tables", "load_sums", "load_files", *LISTS):
            connection.execute(f"delete from {table} where batch = ?", [number])
        connection.execute("delete from models where rows_version >= ?", [number])
        auditing.append(connection, act, "undo", {"rows": taken}, load=number)
    return number, taken


def keep_model(store: Store, document: str, *, state: str, hemisphere: str, act: Act) -> None:
    """Keep a fitted model of the records as they were in ``state``; RecordsMovedError where they have changed since."""
    with store.change() as connection:
        if auditing.state(connection) != state:
            raise RecordsMovedError(store.path)
        rows_version = _scalar(connection, "select coalesce(max(batch), 0) from loads where rows_changed > 0")
        connection.execute(
            "insert into models select coalesce(max(model), 0) + 1, ?, ?, ?, ? from models",
            [rows_version, hemisphere, act.acted_at, document],
        )
        told = {"model_sha256": hashlib.sha256(document.encode()).hexdigest(), "hemisphere": hemisphere}
        auditing.append(connection, act, "fit", told, load=rows_version or None)


def keep_policy(store: Store, told: Mapping[str, Any], act: Act, put: Callable[[], None]) -> None:
    """Put another policy in place and tell of it, both or neither; ``act`` is under the one that was there."""
    with store.change() as connection:
        auditing.append(connection, act, "policy", told)
        put()


def note(store: Store, name: str, value: str) -> None:
    """Keep a fact about the store itself."""
    with store.connect(read_only=False) as connection:
        connection.execute("insert or replace into meta values (?, ?)", [name, value])


def current(store: Store, table: str, columns: Iterable[str]) -> pl.DataFrame:
    """The rows in force of one contract table, some of its columns."""
    declared = TABLES[table].columns()
    names = [name for name in columns if name in declared]
    return store.frame(f"select {', '.join(names)} from {table}")


def current_of(store: Store, table: str, columns: Iterable[str], keys: pl.Series) -> pl.DataFrame:
    """The rows in force of one contract table whose keys are among ``keys``, some of its columns."""
    key = TABLES[table].primary_key()[0]
    with store.connect() as connection:
        connection.register("wanted", keys.alias("wanted_key").to_frame())
        sql = f"select {', '.join(columns)} from {table} semi join wanted on {key} = wanted_key"
        found: pl.DataFrame = connection.sql(sql).pl()
        connection.unregister("wanted")
    return found


def _scalar(connection: duckdb.DuckDBPyConnection, sql: str) -> int:
    [(found,)] = connection.execute(sql).fetchall()  # read to its end: an open result owns its connection
    return int(found)

"""Putting a batch in, and taking the last one out: one transaction each."""

from collections.abc import Iterable
from datetime import datetime

import duckdb
import polars as pl

from analytics.contract.batch import Batch, CheckedTable, TableCount
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.store.database import Store


def commit(
    store: Store, batch: Batch, *, key_fingerprint: str, loaded_at: datetime
) -> tuple[int, dict[str, TableCount]]:
    """Put ``batch`` into the store: all of it or, killed at any instant, none of it.

    A row with a known key and other values replaces the one in force, which is kept with its load.

    Returns:
        The number of the load, and what became of each table's rows.
    """
    with store.connect(read_only=False) as connection:
        connection.execute("begin")
        number = _scalar(connection, "select coalesce(max(batch), 0) + 1 from loads")
        counts = {name: _put(connection, name, table, number) for name, table in batch.tables.items()}
        changed = sum(count.loaded for count in counts.values())
        connection.execute("insert or replace into meta values ('key_fingerprint', ?)", [key_fingerprint])
        connection.execute("insert into loads values (?, ?, ?)", [number, loaded_at, changed])
        for name, count in counts.items():
            row = [number, name, count.read, count.loaded, count.unchanged, count.rejected]
            connection.execute("insert into load_tables values (?, ?, ?, ?, ?, ?)", row)
        for file in batch.files:
            connection.execute(
                "insert into load_files values (?, ?, ?, ?)", [number, file.table, file.file, file.sha256]
            )
        connection.register("incoming_rejects", batch.rejects)
        connection.execute(f"insert into load_rejects select {number}, * from incoming_rejects")
        connection.execute("commit")
    return number, counts


def _put(connection: duckdb.DuckDBPyConnection, name: str, table: CheckedTable, number: int) -> TableCount:
    """Insert the rows that are new or differ, and mark those they replace."""
    schema = TABLES[name]
    keys = schema.primary_key()
    connection.register("incoming", table.clean)
    matched = " and ".join(f"n.{key} = o.{key}" for key in keys)
    values = ", ".join(
        f"coalesce(n.{column}, o.{column}) as {column}" if column in table.absent else f"n.{column}"
        for column in schema.columns()
    )
    different = (
        " or ".join(
            f"n.{column} is distinct from o.{column}"
            for column in schema.columns()
            if column not in keys and column not in table.absent
        )
        or "false"
    )
    connection.execute(
        f"create or replace temp table staged as select {values} from incoming n left join {name} o on {matched} "
        f"where o.{keys[0]} is null or {different}"
    )
    loaded = _scalar(connection, "select count(*) from staged")
    connection.execute(
        f"update {name}_rows o set replaced_in = ? from staged n where o.replaced_in is null and {matched}",
        [number],
    )
    connection.execute(f"insert into {name}_rows select *, ?, null from staged", [number])
    connection.unregister("incoming")
    return TableCount(table.read, loaded, table.read - loaded - table.rejected, table.rejected)


def undo(store: Store) -> tuple[int, dict[str, int]]:
    """Take the last load back: its rows leave, the rows they replaced are in force again.

    Returns:
        The number of the load, and how many of its rows left each table.
    """
    with store.connect(read_only=False) as connection:
        number = _scalar(connection, "select coalesce(max(batch), 0) from loads")
        if number == 0:
            raise LeakbackError(f"nothing to undo: {store.path} holds no load")
        connection.execute("begin")
        taken = {}
        for name in TABLES:
            taken[name] = _scalar(connection, f"select count(*) from {name}_rows where loaded_in = {number}")
            connection.execute(f"delete from {name}_rows where loaded_in = ?", [number])
            connection.execute(f"update {name}_rows set replaced_in = null where replaced_in = ?", [number])
        for table in ("loads", "load_tables", "load_files", "load_rejects"):
            connection.execute(f"delete from {table} where batch = ?", [number])
        connection.execute("delete from models where rows_version >= ?", [number])
        connection.execute("commit")
    return number, taken


def keep_model(store: Store, document: str, *, rows_version: int, hemisphere: str, fitted_at: datetime) -> None:
    """Keep a fitted model, with the records' version and the seasons it was fitted to."""
    with store.connect(read_only=False) as connection:
        connection.execute(
            "insert into models select coalesce(max(model), 0) + 1, ?, ?, ?, ? from models",
            [rows_version, hemisphere, fitted_at, document],
        )


def note(store: Store, name: str, value: str) -> None:
    """Keep a fact about the store itself."""
    with store.connect(read_only=False) as connection:
        connection.execute("insert or replace into meta values (?, ?)", [name, value])


def current(store: Store, table: str, columns: Iterable[str]) -> pl.DataFrame:
    """The rows in force of one contract table, some of its columns."""
    declared = TABLES[table].columns()
    names = [name for name in columns if name in declared]
    return store.frame(f"select {', '.join(names)} from {table}")


def _scalar(connection: duckdb.DuckDBPyConnection, sql: str) -> int:
    [(found,)] = connection.execute(sql).fetchall()  # read to its end: an open result owns its connection
    return int(found)

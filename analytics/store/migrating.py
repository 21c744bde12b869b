"""Bringing a store of an older version up: numbered steps in one transaction, told in the audit trail."""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import duckdb

from analytics.contract.tables import TABLES
from analytics.errors import StoreError
from analytics.store import auditing
from analytics.store.auditing import Act
from analytics.store.backing_up import keep_backup
from analytics.store.database import Store
from analytics.store.ledger import ledger, sums_sql
from analytics.store.schema import VERSION, sql_type, version_sql, view_sql

Step = Callable[[duckdb.DuckDBPyConnection], None]


def _sum_earlier_loads(connection: duckdb.DuckDBPyConnection) -> None:
    """Version 2 sums what each load brought; for earlier loads, what is there now."""
    pairs = connection.execute("select batch, table_name from load_tables order by batch, table_name").fetchall()
    for batch, name in pairs:
        connection.execute(f"insert into load_sums {sums_sql(name)}", {"batch": batch})


FILLING: Mapping[int, Step] = MappingProxyType({2: _sum_earlier_loads})
"""What a version computes from the records once its tables are there."""


def upgrade(store: Store, act: Act, *, beside: Callable[[Path], None] | None = None) -> tuple[int, int, Path | None]:
    """Bring the store to this program's version, with a backup first; nothing is done where it is there already.

    Returns:
        The version it was of, the one it is of now, and the backup made.
    """
    with store.turns.alone():
        found = store.version()
        if found > VERSION:
            raise StoreError(f"{store.path} is a store of version {found}; this program reads version {VERSION}")
        if found == VERSION:
            return found, found, None
        backup = keep_backup(store, beside=beside)
        bring_up(store, act, found)
    return found, VERSION, backup


def bring_up(store: Store, act: Act, found: int) -> None:
    """Run the steps from version ``found`` on, in one transaction."""
    with store.change() as connection:
        for version in range(found + 1, VERSION + 1):
            connection.execute(version_sql(version))
        for name in TABLES:
            _add_columns(connection, name)
            connection.execute(view_sql(name))
        for version in range(found + 1, VERSION + 1):
            FILLING.get(version, _nothing)(connection)
        connection.execute("update meta set value = ? where name = 'schema_version'", [str(VERSION)])
        told = {"from": found, "to": VERSION, **_held(connection)}
        auditing.append(connection, act, "upgrade", told, load=max(map(int, told["loads"]), default=None))


def _add_columns(connection: duckdb.DuckDBPyConnection, name: str) -> None:
    """Columns the contract has gained since, empty in the rows that are there."""
    described = connection.execute(f"describe {name}_rows").fetchall()
    there = {str(row[0]) for row in described}
    for column_name, column in TABLES[name].columns().items():
        if column_name not in there:
            connection.execute(f'alter table {name}_rows add column "{column_name}" {sql_type(column)}')


def _held(connection: duckdb.DuckDBPyConnection) -> dict[str, Any]:
    """What the store holds at this moment, so that a check can hold it against the trail from then on."""
    batches = [batch for (batch,) in connection.execute("select batch from loads order by batch").fetchall()]
    models = [sha for (sha,) in connection.execute("select sha256(document) from models order by model").fetchall()]
    return {"loads": {str(batch): ledger(connection, batch) for batch in batches}, "models": models}


def _nothing(connection: duckdb.DuckDBPyConnection) -> None:
    """A version that computes nothing."""
    del connection

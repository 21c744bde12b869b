"""What each load brought, as written down with it: counts, sums and files, for the audit trail and for checking."""

from collections.abc import Iterable
from typing import Any

import duckdb

from analytics.contract.batch import FAULT_COLUMNS, MENDED_COLUMNS, REJECT_COLUMNS, WAITING_COLUMNS
from analytics.store.summing import SHORT, rows_sum_sql, sum_sql

LISTS = {
    "load_rejects": ("rejects", REJECT_COLUMNS),
    "load_waiting": ("waiting", WAITING_COLUMNS),
    "load_mended": ("mended", MENDED_COLUMNS),
    "load_warnings": ("warnings", FAULT_COLUMNS),
}
"""What a load says about single rows: by the table that keeps it, its name in a batch and its columns."""

TABLES_SQL = """
select t.table_name, t."read", t.loaded, t.unchanged, t.rejected, s.brought_sum, s.replaced, s.replaced_sum
from load_tables as t
left join load_sums as s using (batch, table_name)
where batch = ?
order by t.table_name
"""
FILES_SQL = "select table_name, file, sha256 from load_files where batch = ? order by table_name, file, sha256"


def sums_sql(table: str) -> str:
    """The row of ``load_sums`` of load ``$batch`` for a contract table, as its rows are now."""
    brought, replaced = "loaded_in = $batch", "replaced_in = $batch"
    total = rows_sum_sql(table, SHORT)
    return (
        f"select $batch::integer, '{table}', (select {total} from {table}_rows where {brought}), "
        f"(select count(*) from {table}_rows where {replaced}), "
        f"(select {total} from {table}_rows where {replaced}), {SHORT}"
    )


def ledger(connection: duckdb.DuckDBPyConnection, batch: int) -> dict[str, Any]:
    """What the ledger says of a load; large sums as text, so that JSON of any reader keeps them whole."""
    tables = {
        name: {
            "read": read,
            "loaded": loaded,
            "unchanged": unchanged,
            "rejected": rejected,
            "sum": str(brought_sum),
            "replaced": replaced,
            "replaced_sum": str(replaced_sum),
        }
        for name, read, loaded, unchanged, rejected, brought_sum, replaced, replaced_sum in connection.execute(
            TABLES_SQL, [batch]
        ).fetchall()
    }
    return {
        "tables": tables,
        "files": [list(row) for row in connection.execute(FILES_SQL, [batch]).fetchall()],
        "lists": {name: _listed(connection, name, columns, batch) for name, (_, columns) in LISTS.items()},
    }


def _listed(connection: duckdb.DuckDBPyConnection, name: str, columns: Iterable[str], batch: int) -> list[Any]:
    query = f"select count(*), {sum_sql(columns, ['table'])} from {name} where batch = ?"
    [(count, total)] = connection.execute(query, [batch]).fetchall()
    return [count, str(total)]

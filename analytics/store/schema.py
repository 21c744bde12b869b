"""The store's tables: the contract's from its declarations, the store's own from numbered files.

A contract table ``jobs`` is kept as ``jobs_rows``: its columns plus the load that brought a row and the load
that replaced it. The view ``jobs`` shows the rows in force. Undoing a load is then two statements a table.

``versions/1.sql``, ``2.sql`` and so on are what each version of the store added. A new store runs them all, an
older one those it has not had. A file that was released never changes.
"""

from functools import cache
from importlib.resources import files

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES

VERSION = 4


@cache
def version_sql(version: int) -> str:
    """What a version of the store added to the one before."""
    return (files("analytics.store") / "versions" / f"{version}.sql").read_text(encoding="utf-8")


def sql_type(column: dy.Column) -> str:
    """The DuckDB type that holds a contract column without loss."""
    dtype = column.dtype
    if isinstance(dtype, pl.Decimal):
        return f"decimal({dtype.precision}, {dtype.scale})"
    named = {pl.Float64: "double", pl.Int64: "bigint", pl.Date: "date", pl.Boolean: "boolean"}
    return named.get(type(dtype), "varchar")


def table_sql(name: str) -> str:
    """DDL of one contract table's rows with their history."""
    columns = [
        f'"{column_name}" {sql_type(column)}' + ("" if column.nullable else " not null")
        for column_name, column in TABLES[name].columns().items()
    ]
    return f"create table {name}_rows ({', '.join(columns)}, loaded_in integer not null, replaced_in integer);\n"


def view_sql(name: str) -> str:
    """DDL of the view of a contract table's rows in force."""
    names = ", ".join(f'"{column_name}"' for column_name in TABLES[name].columns())
    return f"create or replace view {name} as select {names} from {name}_rows where replaced_in is null;\n"


def store_sql() -> str:
    """DDL of a new, empty store."""
    own = "".join(version_sql(version) for version in range(1, VERSION + 1))
    return own + "".join(table_sql(name) + view_sql(name) for name in TABLES)

"""The store's tables, from the contract's declarations.

A contract table ``jobs`` is kept as ``jobs_rows``: its columns plus the load that brought a row and the load
that replaced it. The view ``jobs`` shows the rows in force. Undoing a load is then two statements a table.
"""

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES

VERSION = 1

OWN_TABLES = """
create table meta (name varchar primary key, value varchar not null);
create table loads (batch integer primary key, loaded_at timestamp not null, rows_changed bigint not null);
create table load_tables (
    batch integer not null, table_name varchar not null,
    "read" bigint not null, loaded bigint not null, unchanged bigint not null, rejected bigint not null
);
create table load_files (
    batch integer not null, table_name varchar not null, file varchar not null, sha256 varchar not null
);
create table load_rejects (
    batch integer not null, "table" varchar not null, file varchar not null, "row" bigint not null,
    "column" varchar not null, reason varchar not null
);
create table models (
    model integer primary key, rows_version integer not null, hemisphere varchar not null,
    fitted_at timestamp not null, document varchar not null
);
"""


def sql_type(column: dy.Column) -> str:
    """The DuckDB type that holds a contract column without loss."""
    dtype = column.dtype
    if isinstance(dtype, pl.Decimal):
        return f"decimal({dtype.precision}, {dtype.scale})"
    named = {pl.Float64: "double", pl.Int64: "bigint", pl.Date: "date", pl.Boolean: "boolean"}
    return named.get(type(dtype), "varchar")


def table_sql(name: str) -> str:
    """DDL of one contract table: its rows with their history, and the view of those in force."""
    schema = TABLES[name]
    columns = [
        f'"{column_name}" {sql_type(column)}' + ("" if column.nullable else " not null")
        for column_name, column in schema.columns().items()
    ]
    names = ", ".join(f'"{column_name}"' for column_name in schema.columns())
    return (
        f"create table {name}_rows ({', '.join(columns)}, loaded_in integer not null, replaced_in integer);\n"
        f"create view {name} as select {names} from {name}_rows where replaced_in is null;\n"
    )


def store_sql() -> str:
    """DDL of a new, empty store."""
    return OWN_TABLES + "".join(table_sql(name) for name in TABLES)

"""Sums of rows: equal for the same rows in any order, different when a cell of one differs.

A row's text is its filled columns as ``name=value``, sorted by name, so a column added later changes no sum. Each
row counts as the lower half of its MD5, which no change of the engine alters; this finds damage, not a forger.
The half is cut off the whole number: the engine's own function for it takes five times as long.
"""

from collections.abc import Iterable

from analytics.contract.tables import TABLES


def sum_sql(columns: Iterable[str]) -> str:
    """The SQL of the sum over rows with ``columns``, as a hugeint; 0 for no rows."""
    cells = ", ".join(f"'{name}=' || cast(\"{name}\" as varchar)" for name in sorted(columns))
    return f"coalesce(sum((md5_number(concat_ws(chr(31), {cells})) >> 64)::ubigint), 0)::hugeint"


def rows_sum_sql(table: str) -> str:
    """The sum over rows of a contract table, with the load that brought each."""
    return sum_sql([*TABLES[table].columns(), "loaded_in"])

"""Sums of rows: equal for the same rows in any order, different when a cell of one differs.

A row's text is its filled columns, named, sorted by name, so a column added later changes no sum. Each row counts as
the lower half of its MD5, which no change of the engine alters; this finds damage, not a forger.
The half is cut off the whole number: the engine's own function for it takes five times as long.
"""

from collections.abc import Collection, Iterable
from zlib import crc32

import polars as pl

from analytics.contract.tables import TABLES

LOADED_IN = "loaded_in"
NAMED, SHORT = 1, 2
"""How a table's rows are written down to be summed. ``NAMED``, up to version 3 of the store, and for lists still:
``name=value`` with a mark between. ``SHORT``: a mark, three signs for the name and the value, in thousandths where a
measurement is a whole number of them. That takes two thirds of the time."""

_MARK = "chr(31)"
"""Between two cells."""
_MOST = 1e12
"""A measurement below it counts thousandths in whole numbers that the engine holds."""


def sum_sql(columns: Iterable[str], filled: Collection[str]) -> str:
    """The SQL of the sum over rows with ``columns``, named in full, as a hugeint; 0 for no rows.

    ``filled`` are never null, one of ``columns`` at least: with the first of them, no mark hangs on what others hold.
    """
    return _summed(_named(sorted(columns), filled))


def rows_sum_sql(table: str, form: int) -> str:
    """The sum over rows of a contract table, with the load that brought each, written down in that form."""
    declared = TABLES[table].columns()
    columns = sorted([*declared, LOADED_IN])
    filled = {LOADED_IN, *(name for name, column in declared.items() if not column.nullable)}
    if form == NAMED:
        return _summed(_named(columns, filled))
    measured = {name for name, column in declared.items() if isinstance(column.dtype, pl.Float64)}
    return _summed(_short(columns, filled, measured))


def sign(name: str) -> str:
    """Three signs for the name of a column, which no column added later changes; those of a table differ."""
    return f"{crc32(name.encode()) % 16**3:03x}"


def _summed(text: str) -> str:
    return f"coalesce(sum((md5_number({text}) >> 64)::ubigint), 0)::hugeint"


def _named(names: list[str], filled: Collection[str]) -> str:
    """A row's text put together at once, a sixth quicker than a text a cell: the marks stand before or behind cells."""
    first = next(at for at, name in enumerate(names) if name in filled)
    texts = [f"'{name}=' || {_value(name)} || {_MARK}" for name in names[:first]]
    for at, name in enumerate(names[first:]):
        named = f"{_MARK} || '{name}='" if at else f"'{name}='"
        texts.append(f"{_label(name, named, filled)}, {_value(name)}")
    return f"concat({', '.join(texts)})"


def _short(names: list[str], filled: Collection[str], measured: Collection[str]) -> str:
    """A row's text with the names told by their signs; a value in thousandths has no point, any other measurement one.

    A number that is given back by its thousandths is the only one that is, so that no two share a text.
    """
    texts = []
    for name in names:
        value, thousandths = _value(name), f'cast(cast("{name}" * 1000 as bigint) as varchar)'
        if name in measured:
            is_whole = f'abs("{name}") < {_MOST} and round("{name}" * 1000) / 1000 = "{name}"'
            value = f"case when {is_whole} then {thousandths} else {value} end"
        signed = f"{_MARK} || '{sign(name)}'"
        texts.append(f"{_label(name, signed, filled)}, {value}")
    return f"concat({', '.join(texts)})"


def _label(name: str, said: str, filled: Collection[str]) -> str:
    """What is ``said`` before a column's value, where it has one."""
    return said if name in filled else f'case when "{name}" is not null then {said} end'


def _value(name: str) -> str:
    return f'cast("{name}" as varchar)'

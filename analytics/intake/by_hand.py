"""What is typed by hand: rows as a sheet of text, so that they go through the same door as a file's; a number alone."""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import unit
from analytics.contract.tables import TABLES
from analytics.intake.numerals import settle_mark
from analytics.intake.sheet import AS_IN_THE_CONTRACT, Mark, Sheet, Written
from analytics.intake.typing_cells import typed

Row = Mapping[str, str]
WITH_A_UNIT = re.compile(r"\d.*[a-z\"'″′”’°]", re.IGNORECASE)
BOTH_MARKS = re.compile(r"\d([,.])\d{3}(?:\1\d{3})*(?!\1)([,.])\d")
"""An amount of thousands with decimals."""
SPOKEN = {"person-min": "min"}
NEVER_CONVERTED = {"", "ISO 8601 date", "ISO 4217", "ports", "cracks", "true or false"}


def sheet_of_rows(table: str, rows: Sequence[Row], name: str) -> Sheet:
    """Rows of texts by column, all with the same columns, as a sheet of ``table`` whose file is called ``name``.

    A measurement may be typed with a unit of its own, as ``1/8 in``. The sheet carries no hash: what was typed may be
    short enough to be guessed from one.
    """
    cells = pl.DataFrame(rows, schema=dict.fromkeys(rows[0], pl.String))
    numbers = pl.int_range(1, cells.height + 1, dtype=pl.Int64, eager=True)
    found = {column: _written(TABLES[table].columns()[column], cells[column]) for column in cells.columns}
    written = {column: how for column, how in found.items() if how != AS_IN_THE_CONTRACT}
    return Sheet((table,), name, "", cells, numbers, table=table, written=written)


def number_of(text: str, column: dy.Column) -> tuple[float | Decimal | None, str]:
    """The number typed for a column, or None and why it cannot be read; read as in a form, never guessed."""
    cells = pl.Series([text])
    values, faults = typed(cells, column, _written(column, cells), mark=settle_mark([cells]))
    if faults:
        return None, faults[0].removeprefix("the cell ").removeprefix(f"“{text.strip()}” ")
    return values.item(), ""


def _written(column: dy.Column, texts: pl.Series) -> Written:
    """How a column typed by hand is written: amounts with their currency, measurements with units, where there is one.

    An amount with both marks says itself which is the decimal one.
    """
    if isinstance(column.dtype, pl.Decimal):
        marks: set[Mark] = {"point" if found[2] == "." else "comma" for found in map(BOTH_MARKS.search, texts) if found}
        return Written(loose=True, mark=marks.pop() if len(marks) == 1 else None)
    told = unit(column)
    if told in NEVER_CONVERTED or not any(WITH_A_UNIT.search(text) for text in texts):
        return AS_IN_THE_CONTRACT
    return Written(unit=SPOKEN.get(told, told), loose=True)

"""Rows typed by hand as a sheet of text, so that they go through the same door as a file's."""

import re
from collections.abc import Mapping, Sequence

import polars as pl

from analytics.contract.descriptions import unit
from analytics.contract.tables import TABLES
from analytics.intake.sheet import Sheet, Written

Row = Mapping[str, str]
WITH_A_UNIT = re.compile(r"\d.*[a-z\"'″′”’°]", re.IGNORECASE)
SPOKEN = {"person-min": "min"}
NEVER_CONVERTED = {"", "ISO 8601 date", "ISO 4217", "currency of rates", "ports", "true or false"}


def sheet_of_rows(table: str, rows: Sequence[Row], name: str) -> Sheet:
    """Rows of texts by column, all with the same columns, as a sheet of ``table`` whose file is called ``name``.

    A measurement may be typed with a unit of its own, as ``1/8 in``. The sheet carries no hash: what was typed may be
    short enough to be guessed from one.
    """
    cells = pl.DataFrame(rows, schema=dict.fromkeys(rows[0], pl.String))
    numbers = pl.int_range(1, cells.height + 1, dtype=pl.Int64, eager=True)
    written = {
        column: Written(unit=SPOKEN.get(told, told), loose=True)
        for column in cells.columns
        if (told := unit(TABLES[table].columns()[column])) not in NEVER_CONVERTED
        and any(WITH_A_UNIT.search(row[column]) for row in rows)
    }
    return Sheet((table,), name, "", cells, numbers, table=table, written=written)

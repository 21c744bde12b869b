"""A list cut short, which says how many it leaves out and what has them."""

from dataclasses import replace

from analytics.contract import words
from analytics.pages.page import Table


def first_rows(table: Table, most: int, one: str, many: str = "", *, all_in: str = "") -> Table:
    """``table`` with its first ``most`` rows laid out; its note says how many more there are of ``one``, and where.

    They are in the table's files, and where ``all_in`` names a command, there.
    """
    left = table.rows.height - most
    if left <= 0:
        return table
    said = f"Not shown: {words.counted(left, f'more {one}', many and f'more {many}')}."
    found = f"All are in: {all_in}." if all_in else "The CSV and XLSX have them."
    return replace(table, most=most, note=f"{said} {found} {table.note}".strip())

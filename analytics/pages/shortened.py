"""A list cut short, which says how many it leaves out."""

from dataclasses import replace

from analytics.contract import words
from analytics.pages.page import Table


def first_rows(table: Table, most: int, one: str, all_in: str = "") -> Table:
    """The first ``most`` rows of ``table``; its note says how many more there are of ``one``, and what lists them."""
    left = table.rows.height - most
    if left <= 0:
        return table
    said = f"Not shown: {words.counted(left, f'more {one}')}."
    found = f" All are in: {all_in}." if all_in else ""
    return replace(table, rows=table.rows.head(most), note=f"{said}{found} {table.note}".strip())

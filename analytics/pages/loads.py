"""The loads in force: when, by whom, what, from which file."""

import polars as pl

from analytics.answers.handing_in import BY_HAND
from analytics.contract import words
from analytics.pages.page import Column, Page, Table

SHORT_HASH = 8


def build(loads: pl.DataFrame) -> Page:
    """What ``leakback loads`` prints."""
    count = loads["batch"].n_unique()
    hand = loads.filter(pl.col("file").str.starts_with(BY_HAND)).select("batch").n_unique()
    by_hand = f", {words.number(hand)} of them by hand" if hand else ""
    return Page(answer=f"{words.counted(count, 'load')} in force{by_hand}.", parts=(table(loads),))


def table(loads: pl.DataFrame) -> Table:
    """One row a load, table and file; who, only where the policy keeps names."""
    columns = [
        Column("batch", "load", kind="number"),
        Column("loaded_at", "when", help="universal time"),
        *([Column("by_whom", "by")] if loads["by_whom"].is_not_null().any() else []),
        Column("file", "file", under="table_name"),
        Column("sha256", "hash", help="the beginning of the SHA-256 of the file, or of the rows recorded by hand"),
        Column("read", "rows", kind="number"),
        Column("loaded", "in", kind="number"),
        Column("rejected", "rejected", kind="number"),
    ]
    shown = (pl.col("loaded_at").dt.strftime("%Y-%m-%d %H:%M"), pl.col("sha256").str.head(SHORT_HASH))
    return Table(tuple(columns), loads.with_columns(shown), title="Loads", empty="Nothing was loaded yet.")

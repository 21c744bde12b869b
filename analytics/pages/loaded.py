"""What a load did, and what taking one back did."""

import polars as pl

from analytics.answers.loading import Loaded, Undone
from analytics.contract import words
from analytics.pages.page import Column, Page, Table, Words

COUNTS = ("read", "loaded", "unchanged", "rejected")


def build(done: Loaded) -> Page:
    """Every row read: loaded, unchanged or rejected."""
    totals = {key: sum(getattr(count, key) for count in done.tables.values()) for key in COUNTS}
    rows = pl.DataFrame(
        [{"table": name} | {key: getattr(count, key) for key in COUNTS} for name, count in done.tables.items()]
    )
    said = [f"The records reach {words.full_day(done.as_of)}."] if done.as_of else []
    if done.dropped_columns:
        said.append(f"Columns not in the contract, dropped and not kept anywhere: {', '.join(done.dropped_columns)}.")
    if totals["rejected"]:
        said.append("See what was rejected and why with: leakback rejects")
    if done.warnings:
        said.append(f"{words.counted(done.warnings, 'oddity', 'oddities')} in the rows that went in: leakback warnings")
    rejected = words.counted(totals["rejected"], "row was", "rows were")
    return Page(
        answer=f"Load {done.batch}: of {words.counted(totals['read'], 'row')} read, {words.number(totals['loaded'])} "
        f"went in, {words.number(totals['unchanged'])} changed nothing and {rejected} rejected.",
        parts=(
            Table((Column("table", "table"), *(Column(k, k, kind="number") for k in COUNTS)), rows, title="Rows"),
            *(Words(sentence) for sentence in said),
        ),
    )


def build_undone(undone: Undone) -> Page:
    """What the load that was taken back had brought."""
    rows = pl.DataFrame({"table": list(undone.tables), "rows": list(undone.tables.values())})
    count = sum(undone.tables.values())
    out = f"{words.counted(count, 'row is', 'rows are')} out again, and whatever they had replaced is in force again"
    return Page(
        answer=f"Load {undone.batch} is taken back: {out if count else 'no row had come in with it'}.",
        parts=(
            Table((Column("table", "table"), Column("rows", "rows", kind="number")), rows, title="Rows taken back"),
        ),
    )

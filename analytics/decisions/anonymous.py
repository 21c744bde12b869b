"""Records made fit to share: codes re-keyed, numbers given anew, days to the quarter, small groups merged.

Prices stand on invoices, travel says how far the house is, an engineer's letter names it: they are left out.
"""

import hashlib
import hmac
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from analytics.contract.tables import TABLES
from analytics.decisions.small_groups import MERGED, OTHER, Groups, Tables, groups, merged
from analytics.errors import TooFewError

LEFT_OUT: Mapping[str, tuple[str, ...]] = {
    "jobs": ("price_quoted", "price_charged", "travel_minutes"),
    "callbacks": ("material_cost",),
    "reviews": ("reference",),
}
DAYS: Mapping[str, tuple[str, ...]] = {
    "jobs": ("quoted_on", "planned_on", "done_on"),
    "callbacks": ("reported_on",),
    "reviews": ("asked_on", "decided_on"),
}
ONE_DAY = {"done": "done_on", "planned": "planned_on"}
"""The one day that is kept of a job, by its status; of any other status the day of the quote."""
NUMBERS = {
    "jobs": ("job_id", "J"),
    "cracks": ("crack_id", "C"),
    "callbacks": ("callback_id", "K"),
    "reviews": ("review_id", "R"),
}
"""The tables handed out: their key, and what its new numbers begin with."""


@dataclass(frozen=True)
class Extract:
    """Tables fit to share, and what was done: jobs read, jobs left out, and the groups before and after."""

    tables: Tables
    k: int
    jobs_read: int
    jobs_left_out: int
    before: tuple[Groups, ...]
    after: tuple[Groups, ...]


def extract(tables: Mapping[str, pl.DataFrame], k: int, key: bytes) -> Extract:
    """The anonymised extract of jobs, cracks, callbacks and reviews (rows in the contract's columns).

    ``key`` makes the codes and the order of the new numbers; thrown away, nothing leads back. TooFewError where no
    group of ``k`` sites is left.
    """
    shared = coarse(tables)
    kept = merged(shared, k)
    if kept["jobs"].is_empty():
        raise TooFewError(
            f"nothing can be shared: no group of {k} sites, the jobs without a site counted as one; load more jobs, "
            "record where they were done, or choose a smaller --k"
        )
    counts = (tables["jobs"].height, tables["jobs"].height - kept["jobs"].height)
    return Extract(_renumbered(kept, key), k, *counts, groups(shared, k), groups(kept, k))


def coarse(tables: Tables) -> Tables:
    """The tables without what is left out, one day a job, days to the quarter; groups are counted in these."""
    return _one_day({name: _coarse(tables[name], name) for name in NUMBERS})


def _coarse(rows: pl.DataFrame, table: str) -> pl.DataFrame:
    """Rows without what is left out, days to the first of their season's quarter."""
    kept = rows.drop(LEFT_OUT.get(table, ()), strict=False)
    return kept.with_columns(_quarter(column) for column in DAYS.get(table, ()))


def _quarter(column: str) -> pl.Expr:
    """The first day of December, March, June or September before: whole quarters, and each day's season stays."""
    return pl.col(column).dt.offset_by("1mo").dt.truncate("1q").dt.offset_by("-1mo")


def _one_day(tables: Tables) -> Tables:
    """Of a job's days only the one that its status is about; the sites not recorded may be one house, and count so."""
    status, days = pl.col("status").cast(pl.String), DAYS["jobs"]
    about = status.replace_strict(ONE_DAY, default="quoted_on", return_dtype=pl.String)
    kept = tables["jobs"].with_columns(
        *(pl.when(about == column).then(column).alias(column) for column in days),
        site=pl.col("site_id").fill_null(""),
    )
    jobs = kept.with_columns(pl.coalesce(*days).alias("day"), pl.col(*MERGED).cast(pl.String))
    return {**tables, "jobs": jobs}


def _renumbered(tables: Tables, key: bytes) -> Tables:
    """New numbers and codes everywhere, and rows in their order: neither says anything of the old ones."""
    renamed = {column: _numbers(tables[table][column], key, mark) for table, (column, mark) in NUMBERS.items()}
    renamed["site_id"] = _numbers(tables["jobs"]["site_id"], key, "S")
    renamed["crew_id"] = _numbers(tables["jobs"]["crew_id"], key, "crew")
    renamed["branch"] = _numbers(tables["jobs"]["branch"], key, "branch")
    return {
        table: rows.select(column for column in TABLES[table].column_names() if column in rows.columns)
        .with_columns(
            pl.col(column).replace_strict(renamed[column], default=None, return_dtype=pl.String)
            for column in rows.columns
            if column in renamed
        )
        .sort(NUMBERS[table][0])
        for table, rows in tables.items()
    }


def _numbers(codes: pl.Series, key: bytes, mark: str) -> dict[str, str]:
    """A new number for each code, in an order that only the key knows; ``other`` stays."""
    known = [code for code in codes.drop_nulls().unique().to_list() if code != OTHER]
    known.sort(key=lambda code: hmac.new(key, f"{mark}\0{code}".encode(), hashlib.sha256).digest())
    width = len(str(len(known)))
    return {code: f"{mark}-{place:0{width}d}" for place, code in enumerate(known, start=1)} | {OTHER: OTHER}

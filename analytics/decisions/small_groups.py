"""Groups too small to be handed out: found, and merged until every one holds k sites.

A group is what an outsider could know of a house together (``KNOWN_OUTSIDE``), and each crew, branch and word alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

OTHER = "other"
KNOWN_OUTSIDE = ("status", "branch", "access", "day")
"""What somebody who knows a house may know of the work on it; ``day`` is the first day of the quarter of the work."""
MERGED = ("crew_id", "branch")
WORDS: Mapping[str, tuple[str, ...]] = {
    "jobs": ("access",),
    "cracks": ("direction", "water", "movement", "resin"),
    "callbacks": ("finding",),
    "reviews": ("decision",),
}
Tables = Mapping[str, pl.DataFrame]
"""Jobs, cracks, callbacks and reviews, their days coarse; jobs also with ``site`` (never null) and ``day``."""


@dataclass(frozen=True)
class Groups:
    """Groups of one kind: how many there are, how many are under k sites, and the smallest's size."""

    by: str
    groups: int
    under: int
    smallest: int | None


def groups(tables: Tables, k: int) -> tuple[Groups, ...]:
    """The groups of each kind in coarse tables, with how many hold fewer than ``k`` sites."""
    jobs = tables["jobs"]
    kinds = [(", ".join(KNOWN_OUTSIDE), _sizes(jobs, list(KNOWN_OUTSIDE)))]
    kinds += [(column, _sizes(jobs.drop_nulls(column), [column])) for column in MERGED]
    for name, columns in WORDS.items():
        rows = _with_site(tables, name)
        kinds += [(column, _sizes(rows.drop_nulls(column), [column])) for column in columns]
    counted = [(by, sorted(sizes["sites"].to_list())) for by, sizes in kinds]
    return tuple(Groups(by, len(s), sum(size < k for size in s), s[0] if s else None) for by, s in counted)


def _with_site(tables: Tables, table: str) -> pl.DataFrame:
    """Rows of a table with the site of their job."""
    sites = tables["jobs"].select("job_id", "site")
    if table == "jobs":
        return tables["jobs"]
    if table == "reviews":
        sites = tables["cracks"].select("crack_id", "job_id").join(sites, on="job_id").drop("job_id")
        return tables["reviews"].join(sites, on="crack_id")
    return tables[table].join(sites, on="job_id")


def _sizes(rows: pl.DataFrame, by: list[str]) -> pl.DataFrame:
    return rows.group_by(by).agg(sites=pl.col("site").n_unique())


def merged(tables: Tables, k: int) -> Tables:
    """The tables merged until every group holds ``k`` sites: rare words blank, names ``other``, the rest left out."""
    while any(group.under for group in groups(tables, k)):
        tables = _merged_once(tables, k)
    return tables


def _merged_once(tables: Tables, k: int) -> Tables:
    for name, columns in WORDS.items():
        for column in columns:
            tables = {**tables, name: _blank_rare(tables, name, column, k)}
    jobs = tables["jobs"]
    for column in MERGED:
        jobs = _to_other(jobs, column, k)
    jobs = _where_small(jobs, k, access=None)
    jobs = _where_small(jobs, k, branch=OTHER)
    jobs = _to_other(jobs, "branch", k)
    return _only_jobs(tables, jobs.join(_small(jobs, k), on=list(KNOWN_OUTSIDE), how="anti", nulls_equal=True))


def _blank_rare(tables: Tables, table: str, column: str, k: int) -> pl.DataFrame:
    """A word that fewer than ``k`` sites have is blank; a rare finding is another one, a rare decision goes whole."""
    rare = _sizes(_with_site(tables, table), [column]).filter(pl.col("sites") < k)[column].drop_nulls()
    is_rare = pl.col(column).is_in(rare.implode()).fill_null(value=False)
    if column == "decision":
        return tables[table].filter(~is_rare)
    dtype = tables[table].schema[column]
    instead = pl.lit(OTHER if column == "finding" and OTHER not in rare else None, dtype=pl.String).cast(dtype)
    return tables[table].with_columns(pl.when(is_rare).then(instead).otherwise(column).alias(column))


def _to_other(jobs: pl.DataFrame, column: str, k: int) -> pl.DataFrame:
    """Names with fewer than ``k`` sites, and then the next smallest until they are ``k`` together, become ``other``."""
    while True:
        sizes = _sizes(jobs.drop_nulls(column), [column]).sort("sites", column)
        small = sizes.filter(pl.col("sites") < k)[column].to_list()
        if not small:
            return jobs
        if small == [OTHER]:
            rest = sizes.filter(pl.col(column) != OTHER)[column].to_list()
            small = [*small, *rest[:1]]
            if len(small) == 1:
                return jobs.with_columns(pl.lit(None, dtype=pl.String).alias(column))
        jobs = jobs.with_columns(
            pl.when(pl.col(column).is_in(small)).then(pl.lit(OTHER)).otherwise(column).alias(column)
        )


def _small(jobs: pl.DataFrame, k: int) -> pl.DataFrame:
    return _sizes(jobs, list(KNOWN_OUTSIDE)).filter(pl.col("sites") < k).drop("sites")


def _where_small(jobs: pl.DataFrame, k: int, **instead: str | None) -> pl.DataFrame:
    """The jobs of small groups with a column made less telling."""
    [(column, value)] = instead.items()
    small = _small(jobs, k).with_columns(pl.lit(value=True).alias("is_small"))
    marked = jobs.join(small, on=list(KNOWN_OUTSIDE), how="left", nulls_equal=True, maintain_order="left")
    told = pl.lit(value, dtype=pl.String).cast(jobs.schema[column])
    return marked.with_columns(
        pl.when("is_small").then(told).otherwise(column).alias(column),
    ).drop("is_small")


def _only_jobs(tables: Tables, jobs: pl.DataFrame) -> Tables:
    """The tables with no more than these jobs."""
    cracks = tables["cracks"].join(jobs, on="job_id", how="semi")
    return {
        "jobs": jobs,
        "cracks": cracks,
        "callbacks": tables["callbacks"].join(jobs, on="job_id", how="semi"),
        "reviews": tables["reviews"].join(cracks, on="crack_id", how="semi"),
    }

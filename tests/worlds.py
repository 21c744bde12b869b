"""Invented businesses as frames, without a store: what was written down of finished work, and what is true of it."""

import polars as pl

from analytics.demo import World
from analytics.demo.days import AS_OF

# Climatology practice: December to February, March to May, June to August, September to November (from memory).
SEASON_OF_MONTH = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring"} | {
    6: "summer", 7: "summer", 8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"
}  # fmt: skip


def season_of(day: str) -> pl.Expr:
    """The season of each day of a column, in the north."""
    return pl.col(day).dt.month().replace_strict(SEASON_OF_MONTH, return_dtype=pl.String)


def done_cracks(invented: World) -> pl.DataFrame:
    """One row a crack of a done job, as written down, with its blanks: the columns of both tables, words as text."""
    jobs = invented.tables["jobs"].filter(pl.col("status").cast(pl.String) == "done")
    joined = invented.tables["cracks"].join(jobs, on="job_id", maintain_order="left")
    return joined.with_columns(
        pl.col(pl.Enum).cast(pl.String),
        season=season_of("done_on"),
        year=pl.col("done_on").dt.year().cast(pl.Int64),
        void_litres=pl.col("width_mm") * pl.col("wall_thickness_mm") * pl.col("length_m") / 1000,
    )


def follow_up(invented: World) -> pl.DataFrame:
    """The same, each watched as the rule says, with leaked_back and watched_days from the true age of its leak-back."""
    truths = invented.cracks.select("crack_id", "leaks_after_days")
    warranty_ends = pl.col("done_on").dt.offset_by(pl.format("{}mo", pl.col("warranty_months").fill_null(1200)))
    known_days = (pl.min_horizontal(warranty_ends, pl.lit(AS_OF)) - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    leaks = pl.col("leaks_after_days")
    return (
        done_cracks(invented)
        .join(truths, on="crack_id", maintain_order="left")
        .with_columns(
            leaked_back=leaks <= known_days,
            watched_days=pl.when(leaks <= known_days).then(pl.max_horizontal(leaks, pl.lit(0.5))).otherwise(known_days),
        )
    )

"""The engineer's decisions in the invented business."""

from datetime import date

import numpy as np
import polars as pl

from analytics.demo.arrays import Days
from analytics.demo.days import AS_OF, day
from analytics.demo.planned import CASES

REVIEWED_SHARE = 0.75
REVIEWED_SINCE = date(2021, 6, 1)
OFFSET_MM, WIDTH_MM = 3.2, 5.0
"""What the invented business sends to its engineer, beside horizontal, stepped and growing cracks."""
DONE_DECISIONS = {"inject": 0.86, "repair_otherwise": 0.07, "asked": 0.07}
NOT_DONE_DECISIONS = {"repair_otherwise": 0.50, "monitor": 0.24, "inject": 0.16, "do_nothing": 0.10}


def draw_reviews(rng: np.random.Generator, cracks: pl.DataFrame) -> pl.DataFrame:
    """Table reviews, by day asked, of the cracks of all jobs with their job's kind, status, quoted_on and work_on."""
    asked = pl.concat([_of_history(rng, cracks), _of_cases(cracks)])
    dated = asked.with_columns(pl.Series("asked_on", _asked_on(rng, asked)))
    last = dated.select(pl.when(decided_late()).then(pl.lit(AS_OF)).otherwise("work_on")).to_series().to_numpy()
    decided_on = np.minimum(dated["asked_on"].to_numpy() + rng.integers(1, 9, dated.height), last)
    undecided = pl.when(pl.col("decision") != "asked")
    letters = pl.format("L{}-{}", pl.col("asked_on").dt.strftime("%y"), "number")
    return (
        dated.with_columns(pl.Series("decided_on", np.maximum(decided_on, dated["asked_on"].to_numpy())))
        .sort("asked_on", "crack_id")
        .with_columns(number=pl.int_range(1, pl.len() + 1).cast(pl.String).str.zfill(3))
        .select(
            pl.format("R-{}", "number").alias("review_id"),
            "crack_id",
            "asked_on",
            undecided.then("decided_on").otherwise(None).alias("decided_on"),
            undecided.then("decision").otherwise(None).alias("decision"),
            undecided.then(letters).otherwise(None).alias("reference"),
        )
    )


def decided_late() -> pl.Expr:
    """Asked only after the work was done: another repair was decided on a crack already injected."""
    return (pl.col("status") == "done") & (pl.col("decision") == "repair_otherwise")


def _of_history(rng: np.random.Generator, cracks: pl.DataFrame) -> pl.DataFrame:
    """The cracks of past quotes that the engineer was asked about, and what he said."""
    noticeable = pl.any_horizontal(
        pl.col("direction").is_in(["horizontal", "stepped"]),
        pl.col("offset_mm") >= OFFSET_MM,
        pl.col("width_mm") >= WIDTH_MM,
        (pl.col("movement") == "growing").fill_null(value=False),
    )
    past = cracks.filter((pl.col("kind") == "past") & (pl.col("quoted_on") >= REVIEWED_SINCE) & noticeable)
    chosen = past.filter(pl.Series(rng.random(past.height) < REVIEWED_SHARE))
    done = rng.choice(list(DONE_DECISIONS), size=chosen.height, p=list(DONE_DECISIONS.values()))
    not_done = rng.choice(list(NOT_DONE_DECISIONS), size=chosen.height, p=list(NOT_DONE_DECISIONS.values()))
    decision = np.where(chosen["status"].to_numpy() == "done", done, not_done)
    return chosen.select("crack_id", "status", "quoted_on", "work_on", pl.Series("decision", decision))


def _of_cases(cracks: pl.DataFrame) -> pl.DataFrame:
    """The planned cracks whose case has a review."""
    decisions = {number: case.decision for number, case in enumerate(CASES) if case.decision}
    chosen = cracks.filter(pl.col("case_no").is_in(list(decisions)) & (pl.col("crack_no") == 1))
    return chosen.select(
        "crack_id",
        "status",
        "quoted_on",
        # What is still to come cannot have been decided by then.
        pl.lit(AS_OF).alias("work_on"),
        pl.col("case_no").replace_strict(decisions, return_dtype=pl.String).alias("decision"),
    )


def _asked_on(rng: np.random.Generator, asked: pl.DataFrame) -> Days:
    """A day between the quote and the work; after the work where ``decided_late``."""
    late = asked.select(decided_late()).to_series().to_numpy()
    start = np.where(late, asked["work_on"].to_numpy(), asked["quoted_on"].to_numpy())
    end = np.where(late, np.minimum(start + np.timedelta64(200, "D"), day(AS_OF)), asked["work_on"].to_numpy())
    span = np.maximum((end - start).astype(np.int64), 0)
    return np.asarray(start + np.floor(rng.random(asked.height) * span * 0.6).astype("timedelta64[D]"))

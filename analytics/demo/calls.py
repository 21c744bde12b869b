"""The customers' calls: leak-backs as the truth has them, and everything else that makes a telephone ring."""

import numpy as np
import polars as pl

from analytics.contract.ages import DAYS_PER_YEAR
from analytics.demo.arrays import Days, Numbers
from analytics.demo.days import AS_OF, day
from analytics.demo.truth import OLDEST_MONTHS, Truth, age_years, log_hazard

AFTER_WARRANTY_SHARE = 0.35
"""Of the leak-backs after the warranty, those that are still reported; under warranty all are."""
AGAIN_SHARE = 0.05
CRACK_UNKNOWN_SHARE = 0.05
NOT_LOOKED_AT_DAYS, NOT_LOOKED_AT_SHARE = 14, 0.6
OTHER_SHARES = {"new_crack": 0.45, "condensation": 0.30, "surface_only": 0.15, "other": 0.10}
OTHER_CALLS_PER_JOB = 0.045
NAMED_SHARE = 0.5
_FAR_DAYS = 100_000.0


def leak_ages_days(rng: np.random.Generator, truth: Truth, cracks: pl.DataFrame) -> Numbers:
    """The age at which each crack leaks back, in whole days (at most 100,000): the future, known only here."""
    jobs = cracks["place"].to_numpy()
    variance = truth.frailty_variance
    frailty = rng.gamma(1 / variance, variance, jobs.max() + 1) if variance else np.ones(jobs.max() + 1)
    needed = rng.exponential(1, cracks.height) / (frailty[jobs] * np.exp(log_hazard(cracks, truth)))
    return np.minimum(np.rint(age_years(needed, truth) * DAYS_PER_YEAR), _FAR_DAYS)


def draw_calls(rng: np.random.Generator, done: pl.DataFrame) -> pl.DataFrame:
    """Table callbacks, by day reported: of done cracks with work_on, warranty_months, n_cracks and leaks_after_days."""
    leaks = _leak_backs(rng, done)
    again = _again(rng, leaks)
    calls = pl.concat([leaks, again, _others(rng, done)]).filter(pl.col("reported_on") <= AS_OF)
    calls = calls.sort("reported_on", "job_id", maintain_order=True)
    numbers = pl.int_range(1, pl.len() + 1).cast(pl.String).str.zfill(4)
    return _costs(rng, calls).select(
        pl.format("K-{}", numbers).alias("callback_id"),
        "job_id",
        "crack_id",
        "reported_on",
        "finding",
        "labour_minutes",
        "material_cost",
    )


def _leak_backs(rng: np.random.Generator, done: pl.DataFrame) -> pl.DataFrame:
    """First leak-backs that are reported; a few, in jobs of several cracks, without saying which crack."""
    ends_on = pl.col("work_on").dt.offset_by(pl.format("{}mo", pl.col("warranty_months").fill_null(OLDEST_MONTHS)))
    reported_on = pl.col("work_on") + pl.duration(days=pl.col("leaks_after_days").cast(pl.Int64))
    late = pl.Series(rng.random(done.height) < AFTER_WARRANTY_SHARE)
    unknown = pl.Series(rng.random(done.height) < CRACK_UNKNOWN_SHARE)
    return (
        done.with_columns(reported_on=reported_on, late=late, unknown=unknown & (done["n_cracks"] > 1))
        .filter((pl.col("reported_on") <= ends_on) | pl.col("late"))
        .select(
            "job_id",
            pl.when("unknown").then(None).otherwise("crack_id").alias("crack_id"),
            "reported_on",
            finding=pl.lit("leak_back"),
        )
    )


def _again(rng: np.random.Generator, leaks: pl.DataFrame) -> pl.DataFrame:
    """A few leak back a second time, at least two months later."""
    wait = (60 + rng.exponential(400, leaks.height)).astype("timedelta64[D]")
    later: Days = leaks["reported_on"].to_numpy() + wait
    chosen = pl.Series(rng.random(leaks.height) < AGAIN_SHARE)
    return leaks.with_columns(pl.Series("reported_on", later)).filter(chosen)


def _others(rng: np.random.Generator, done: pl.DataFrame) -> pl.DataFrame:
    """Calls that turn out to be no leak-back; some of them name a crack."""
    count = rng.poisson(OTHER_CALLS_PER_JOB * done["job_id"].n_unique())
    chosen = done[rng.integers(0, done.height, count)]
    watched = (day(AS_OF) - chosen["work_on"].to_numpy()).astype(np.int64)
    days = np.floor(rng.random(count) ** 1.5 * (watched + 1)).astype("timedelta64[D]")
    finding = rng.choice(list(OTHER_SHARES), size=count, p=list(OTHER_SHARES.values()))
    named = pl.Series(rng.random(count) < NAMED_SHARE) & pl.Series(finding != "new_crack")
    return chosen.with_columns(pl.Series("named", named)).select(
        "job_id",
        pl.when("named").then("crack_id").otherwise(None).alias("crack_id"),
        pl.Series("reported_on", chosen["work_on"].to_numpy() + days),
        pl.Series("finding", finding),
    )


def _costs(rng: np.random.Generator, calls: pl.DataFrame) -> pl.DataFrame:
    """What putting it right took; the newest calls, not looked at yet, have no finding and no costs."""
    count = calls.height
    leak = calls["finding"].to_numpy() == "leak_back"
    minutes = np.where(leak, rng.gamma(5, 42, count), rng.gamma(3, 15, count))
    material = np.where(leak, rng.gamma(3, 16, count), rng.gamma(1, 6, count))
    recent = (day(AS_OF) - calls["reported_on"].to_numpy()).astype(np.int64) <= NOT_LOOKED_AT_DAYS
    waiting = pl.Series("waiting", recent & (rng.random(count) < NOT_LOOKED_AT_SHARE))
    filled = calls.with_columns(
        waiting, labour_minutes=pl.Series(np.rint(minutes)), material_cost=pl.Series(material.round(2))
    )
    blank = pl.when("waiting").then(None)
    return filled.with_columns(
        blank.otherwise(pl.col(name)).alias(name) for name in ("finding", "labour_minutes", "material_cost")
    )

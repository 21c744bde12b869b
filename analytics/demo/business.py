"""The invented crack-injection business: six years of jobs, cracks, calls, rates and reviews, drawn from a known truth.

No firm, person, site or price in it is real.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from analytics.contract.tables import TABLES
from analytics.demo.calls import draw_calls, leak_ages_days
from analytics.demo.measurements import draw_cracks
from analytics.demo.planned import at_earlier_sites, lay_out
from analytics.demo.quotes import draw_quotes
from analytics.demo.rates import rates
from analytics.demo.reviews import draw_reviews
from analytics.demo.truth import STEPS, TRUTH, Truth, log_hazard
from analytics.demo.work import with_expected_work, with_prices, with_used, won

SEED = 136
"""A draw near the average of its kind: no crew without effect stands out by chance."""
JOBS = 4000
CANCELLED_SHARE = 0.02
SLIPPED_SHARE = 0.15
BLANK_SHARES = {"wall_temp_c": 0.05, "offset_mm": 0.05, "width_mm": 0.015, "direction": 0.006}
DONE_BLANK_SHARES = {"resin_litres": 0.02, "labour_minutes": 0.02}


@dataclass(frozen=True)
class World:
    """What a business wrote down, and what is known of it to whoever made it.

    ``tables`` are the five tables of the contract. ``cracks`` has one row a crack of a done job with nothing
    blank (but movement, where it was not known): the columns of table cracks, and crew_id, access, done_on,
    warranty_months, ``log_hazard``, and ``leaks_after_days``, the age at which it leaks back, seen or yet to come.
    """

    tables: dict[str, pl.DataFrame]
    cracks: pl.DataFrame


def simulate(truth: Truth = TRUTH, seed: int = SEED, n_jobs: int = JOBS) -> dict[str, pl.DataFrame]:
    """The five tables, in the contract's columns and types, of a business with about ``n_jobs`` done jobs."""
    return world(truth, seed, n_jobs).tables


def world(truth: Truth = TRUTH, seed: int = SEED, n_jobs: int = JOBS) -> World:
    """A business with about ``n_jobs`` done jobs, and what is true of each of its cracks."""
    streams = np.random.default_rng(seed).spawn(7)
    quotes = draw_quotes(streams[0], truth, n_jobs)
    cracks = with_expected_work(lay_out(draw_cracks(streams[1], truth, quotes)))
    cracks = with_used(streams[2], truth, cracks)
    quotes = _with_status(streams[3], truth, with_prices(streams[3], quotes, cracks))
    facts = cracks.join(
        quotes.select("job_id", "status", "quoted_on", "warranty_months", "n_cracks"),
        on="job_id",
        maintain_order="left",
    )
    done = facts.filter(pl.col("status") == "done")
    done = done.with_columns(
        pl.Series("log_hazard", log_hazard(done, truth)),
        pl.Series("leaks_after_days", leak_ages_days(streams[4], truth, done)),
    )
    calls = draw_calls(streams[4], done)
    quotes = at_earlier_sites(quotes, calls.filter(pl.col("finding") == "leak_back"))
    written = {
        "jobs": _jobs(streams[5], quotes),
        "cracks": _cracks(streams[5], facts),
        "callbacks": calls,
        "rates": rates(),
        "reviews": draw_reviews(streams[6], facts),
    }
    return World({name: _typed(name, frame) for name, frame in written.items()}, _known(done))


def write(folder: Path, seed: int = SEED) -> None:
    """Write the five tables as CSV files into ``folder``, as a business would bring them."""
    for name, table in simulate(seed=seed).items():
        table.with_columns(
            pl.col(pl.Float64).cast(pl.String).str.strip_suffix(".0"),
            pl.col(pl.Decimal).cast(pl.Decimal(16, 2)),
        ).write_csv(folder / f"{name}.csv", line_terminator="\n")


def _typed(name: str, frame: pl.DataFrame) -> pl.DataFrame:
    """A table's columns in the contract's order and types."""
    return frame.select(pl.col(column).cast(declared.dtype) for column, declared in TABLES[name].columns().items())


def _known(done: pl.DataFrame) -> pl.DataFrame:
    truths = ("crew_id", "access", "warranty_months", "log_hazard", "leaks_after_days")
    return done.select(*TABLES["cracks"].columns(), pl.col("work_on").alias("done_on"), *truths)


def _with_status(rng: np.random.Generator, truth: Truth, quotes: pl.DataFrame) -> pl.DataFrame:
    """Where each job stands: past quotes are done, cancelled or lost."""
    cancelled = rng.random(quotes.height) < CANCELLED_SHARE
    accepted = won(rng, truth, quotes["log_ratio"].to_numpy())
    past = np.where(~accepted, "lost", np.where(cancelled, "cancelled", "done"))
    kind = quotes["kind"].to_numpy()
    status = np.select([kind == "open", kind == "planned"], ["quoted", "planned"], past)
    return quotes.with_columns(pl.Series("status", status))


def _jobs(rng: np.random.Generator, quotes: pl.DataFrame) -> pl.DataFrame:
    """Table jobs: only what is known where the job stands. Some work was done days after it was planned."""
    slip = np.where(rng.random(quotes.height) < SLIPPED_SHARE, rng.integers(1, 8, quotes.height), 0)
    planned_on = pl.max_horizontal("quoted_on", pl.col("work_on") - pl.duration(days=pl.lit(pl.Series(slip))))
    is_done, is_sold = pl.col("status") == "done", pl.col("status").is_in(["done", "planned", "cancelled"])
    return quotes.with_columns(
        pl.when(is_sold).then("crew_id").otherwise(None).alias("crew_id"),
        pl.when(is_done).then(planned_on).when(is_sold).then("work_on").otherwise(None).alias("planned_on"),
        pl.when(is_done).then("work_on").otherwise(None).alias("done_on"),
        pl.when(is_done).then("price_charged").otherwise(None).alias("price_charged"),
    )


def _cracks(rng: np.random.Generator, facts: pl.DataFrame) -> pl.DataFrame:
    """Table cracks: what is done on the day only where it was done, and some blanks where nobody wrote it down."""
    is_done, is_planned = pl.col("status") == "done", pl.col("status") == "planned"
    on_the_day = (*STEPS, "port_count", "resin_litres", "labour_minutes")
    blanks = {
        name: pl.Series(rng.random(facts.height) < share) for name, share in (BLANK_SHARES | DONE_BLANK_SHARES).items()
    }
    return facts.with_columns(
        pl.when(is_done).then(name).otherwise(None).alias(name) for name in on_the_day
    ).with_columns(
        pl.when(blank & ~is_planned).then(None).otherwise(name).alias(name) for name, blank in blanks.items()
    )

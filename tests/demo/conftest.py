"""The shipped business, drawn once, and its follow-up worked out the plain way."""

from datetime import date

import polars as pl
import pytest

from analytics.demo import World, world

AS_OF = date(2026, 10, 31)
WETNESS = {"dry": 1, "damp": 2, "seeping": 3, "running": 4}


@pytest.fixture(scope="session")
def business() -> World:
    return world()


@pytest.fixture(scope="session")
def tables(business: World) -> dict[str, pl.DataFrame]:
    return business.tables


@pytest.fixture(scope="session")
def followed(tables: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """Every done crack with ``leaked`` and ``days`` watched: to its first leak-back, its warranty's end or the end."""
    done = tables["cracks"].join(tables["jobs"].filter(pl.col("status") == "done"), on="job_id")
    leaked_on: dict[str, date] = {}
    ends = dict(
        done.select(
            "crack_id",
            pl.col("done_on").dt.offset_by(pl.format("{}mo", pl.col("warranty_months").fill_null(1200))),
        ).iter_rows()
    )
    by_job: dict[str, list[tuple[int, float, str]]] = {}
    for job, crack, water, width in done.select("job_id", "crack_id", "water", "width_mm").iter_rows():
        by_job.setdefault(job, []).append((WETNESS[water], width or 0.0, crack))
    leak_backs = tables["callbacks"].filter(pl.col("finding") == "leak_back").sort("reported_on")
    for job, crack, day in leak_backs.select("job_id", "crack_id", "reported_on").iter_rows():
        on = crack or max(by_job[job])[2]
        if day <= ends[on]:
            leaked_on.setdefault(on, day)
    days = [
        ((leaked_on.get(crack) or min(ends[crack], AS_OF)) - done_on).days
        for crack, done_on in done.select("crack_id", "done_on").iter_rows()
    ]
    return done.with_columns(
        pl.Series("days", days),
        pl.col("crack_id").is_in(list(leaked_on)).alias("leaked"),
        pl.col("resin").cast(pl.String),
    )

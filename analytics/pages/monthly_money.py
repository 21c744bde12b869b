"""What a month's jobs were charged and what they cost, and both of the same jobs where that is not all of them."""

import polars as pl

from analytics.answers import currencies
from analytics.answers.pricing import costs_of
from analytics.answers.records import Records
from analytics.contract import words
from analytics.decisions.costs import RatesInForce
from analytics.errors import LeakbackError
from analytics.pages.page import Figure

CHARGED, COST = "charged", "cost of the work"
OF_BOTH = "where both are known"
NOT_THE_SAME = "not the same work as what was charged"


def figures(then: Records, done: pl.DataFrame) -> tuple[Figure, ...]:
    """The charge and the cost of the ``done`` cracks as the records stood ``then``, at the rates then in force.

    Where the cost is not known of every crack, or the charge not of every job, the two are not of the same work: then
    both are said again of the jobs of which both are known.
    """
    jobs = then.ask("job_terms").join(done, on="job_id", how="semi")
    charged = _charged(then, jobs, done)
    try:
        costs = costs_of(then, done)
    except LeakbackError as error:
        return charged, Figure(COST, None, note=str(error))
    unit = RatesInForce.of(then.ask("current_rates")).currency
    known = over(costs.height, done.height, "crack", "known")
    whole = costs.height == done.height and not jobs["price_charged"].has_nulls()
    note = "" if whole or costs.is_empty() else NOT_THE_SAME
    cost = Figure(COST, _sum(costs["direct"]), count=known, unit=unit, digits=0, note=note)
    return (charged, cost) if whole else (charged, cost, *_of_both(jobs, done, costs, unit))


def over(told: int, every: int, one: str, how: str) -> str:
    """What a figure is of: every job or crack, or ``recorded for 38 of 40 cracks``."""
    of = words.out_of(told, every, one)
    return of if told == every else f"{how} for {of}"


def _of_both(jobs: pl.DataFrame, done: pl.DataFrame, costs: pl.DataFrame, unit: str) -> tuple[Figure, ...]:
    """The charge and the cost of the jobs charged of which every crack's cost is known; nothing where there is none."""
    known = costs.group_by("job_id").agg(pl.len().alias("known"), pl.col("direct").sum())
    whole = done.group_by("job_id").len().join(known, on="job_id").filter(pl.col("len") == pl.col("known"))
    both = jobs.drop_nulls("price_charged").join(whole, on="job_id")
    if both.is_empty():
        return ()
    count = words.out_of(both.height, jobs.height, "job")
    return tuple(
        Figure(f"{name}, {OF_BOTH}", _sum(both[column]), count=count, unit=unit, digits=0)
        for name, column in ((CHARGED, "price_charged"), ("cost", "direct"))
    )


def _sum(amounts: pl.Series) -> float | None:
    return float(amounts.sum()) if len(amounts) else None


def _charged(then: Records, jobs: pl.DataFrame, done: pl.DataFrame) -> Figure:
    """What the jobs were charged in the money of the day, and of how many that was recorded."""
    charged = jobs["price_charged"].drop_nulls()
    note = " ".join(currencies.left_out(then)) if _has_older(then, done) else ""
    count = over(len(charged), jobs.height, "job", "counted" if note else "recorded")
    return Figure(CHARGED, _sum(charged), count=count, unit=currencies.of_day(then), digits=0, note=note)


def _has_older(then: Records, done: pl.DataFrame) -> bool:
    """Whether some of it was done while the rates were in another currency than that day."""
    since = currencies.since(then)
    return since is not None and not done.filter(pl.col("done_on") < since).is_empty()

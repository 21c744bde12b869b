"""What the crews use and how often their work leaks back: plain figures, whatever cracks each was given."""

from typing import Any

import polars as pl

from analytics import metrics
from analytics.answers.crews import Crews
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.dimensions import dimension
from analytics.contract.roles import RECORD_PAGE
from analytics.pages.leak_backs import RATE, rates_by
from analytics.pages.measured import digits, unit
from analytics.pages.page import Column, Figure, Figures, Section, Table, Words
from analytics.pages.shortened import first_rows
from analytics.risk import STEPS
from analytics.stats.survival import LEAST_WATCHED

WORK = ("take_ratio", "material_per_metre", "labour_per_crack", "labour_per_metre")
CREW = dimension("crew")
MOST_LISTED, MOST_ON_PAPER = 12, 100
ON_THE_PAGE = "the CSV and XLSX of this list, on the crew's page of the dashboard"
TITLE = "Leak-backs, resin and labour, plain figures"
PLAIN = (
    f"Leak-backs are read off a crew's curve, and not told where fewer than {LEAST_WATCHED} of its cracks are still "
    f"watched, however few leaked back; all else is totals divided by totals. Intervals at {words.level()}, the error "
    "taken between jobs."
)


def by_crew(records: Records, found: Crews) -> Section:
    """Leak-back rate, resin and labour of every crew, a column a metric."""
    months = found.months
    every = (RATE, *(metrics.METRICS[name] for name in WORK))
    rows = pl.DataFrame(schema={"crew": pl.String})
    for metric in every:
        rows = rows.join(_found(records, metric, months), on="crew", how="full", coalesce=True)
    columns = (Column("crew", "crew"), *(_column(metric, months) for metric in every))
    return Section(
        TITLE, (*_no_judgement("" if found.judged else found.said), Table(columns, rows.sort("crew"), title=TITLE))
    )


def _found(records: Records, metric: metrics.Metric, months: int) -> pl.DataFrame:
    if metric.is_rate:
        found = rates_by(records, (CREW,), months).rows
    else:
        found = metrics.measure(records.ask, metric, (CREW,)).rows
    return found.select("crew", *(pl.col(key).alias(f"{metric.name}_{key}") for key in ("value", "low", "high")))


def _column(metric: metrics.Metric, months: int) -> Column:
    return Column(
        f"{metric.name}_value",
        _titled(metric, months),
        kind="percent" if metric.is_rate else "number",
        unit="" if metric.is_rate else unit(metric),
        low=f"{metric.name}_low",
        high=f"{metric.name}_high",
        help=metric.says,
        digits=digits(metric),
    )


def of_crew(records: Records, found: Crews, crew_id: str) -> Section:
    """One crew's leak-back rate, resin and labour, with everyone's beside each."""
    every = (RATE, *(metrics.METRICS[name] for name in WORK))
    figures = tuple(_figure(records, metric, crew_id, found.months) for metric in every)
    row = found.rows.row(by_predicate=pl.col("crew_id") == crew_id, named=True)
    why_not = "" if row["ratio"] is not None else found.said if found.judged is None else row["note"]
    return Section(TITLE, (*_no_judgement(why_not), Figures(figures)))


def _no_judgement(why_not: str) -> tuple[Words, ...]:
    """That nobody is judged by plain figures, ``why_not`` otherwise either, and how they are come by."""
    judging = f"so they judge no crew: {why_not}" if why_not else "which the judgement above allows for"
    first = f"Plain figures of whatever cracks each crew was given, {judging}".rstrip(".")
    return Words(f"{first}."), Words(PLAIN, tone="muted")


def leaked(records: Records, judged: Crews, crew_id: str, *, on_paper: bool = False) -> tuple[Section, ...]:
    """The cracks of one crew that leaked back, the last done first, each opening its job; nothing where none did.

    ``on_paper``, where nothing can be opened, there are more of them.
    """
    mine = (pl.col("crew_id") == crew_id) & pl.col("leaked_back")
    found = records.ask("follow_up").filter(mine).sort("done_on", "crack_id", descending=[True, False])
    columns = (
        Column("job_id", "job", link=RECORD_PAGE),
        Column("crack_id", "crack"),
        Column("done_on", "done"),
        Column("watched_days", "leaked back after", kind="number", unit="days", digits=0),
        Column("resin", "resin"),
        Column("water", "water"),
        *(Column(step, step.replace("_", " ")) for step in STEPS),
    )
    done = (pl.col(step).replace_strict({True: "yes", False: "no"}, default=None) for step in STEPS)
    rows = found.with_columns(words.worded("resin", "water"), *done)
    most, all_in = (MOST_ON_PAPER, ON_THE_PAGE) if on_paper else (MOST_LISTED, "")
    last = first_rows(Table(columns, rows, title="Its leak-backs"), most, "crack", all_in=all_in)
    return (Section("Its leak-backs", (*_beyond(judged, crew_id, found.height), last)),) if found.height else ()


def _beyond(judged: Crews, crew_id: str, every: int) -> tuple[Words, ...]:
    """That more are listed than the judgement counts, where that is so: it looks at the first months alone."""
    [counted] = judged.rows.filter(crew_id=crew_id)["observed"]
    within = f"{words.number(counted)} within {judged.months} months"
    said = f"However late, under warranty: {words.number(every)}; {within}."
    return (Words(said, tone="muted"),) if every != counted else ()


def _figure(records: Records, metric: metrics.Metric, crew_id: str, months: int) -> Figure:
    own = metrics.measure(records.ask, metric, months=months, only={CREW: crew_id}).rows
    row: dict[str, Any] = own.row(0, named=True) if own.height else {"value": None, "note": "nothing recorded"}
    every = metrics.measure(records.ask, metric, months=months).rows
    beside = f"all crews {_said(metric, every.row(0, named=True))}" if every.height else ""
    return Figure(
        _titled(metric, months),
        row["value"],
        row.get("low"),
        row.get("high"),
        kind="percent" if metric.is_rate else "number",
        unit="" if metric.is_rate else unit(metric),
        digits=digits(metric),
        note=beside if row["value"] is not None else str(row["note"]),
    )


def _said(metric: metrics.Metric, row: dict[str, Any]) -> str:
    ends = row["value"], row["low"], row["high"]
    if metric.is_rate:
        return words.percent_estimate(*ends)
    return words.estimate(*ends, digits(metric), unit(metric))


def _titled(metric: metrics.Metric, months: int) -> str:
    return f"{metric.words} within {months} months" if metric.is_rate else metric.words

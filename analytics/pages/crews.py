"""The crews' plain numbers: leak-backs, resin and labour, each with its interval and count."""

import polars as pl

from analytics import metrics
from analytics.answers.records import Records
from analytics.charts import words
from analytics.charts.dots import interval_dots
from analytics.contract.dimensions import dimension
from analytics.pages.leak_backs import MONTHS, RATE
from analytics.pages.measured import estimate, table
from analytics.pages.page import Chart, Column, Page, Said, Section, Table, Words

WORK = ("take_ratio", "material_per_metre", "labour_per_crack", "labour_per_metre")
CREW = dimension("crew")
UNFAIR = (
    "These are plain numbers. A crew that is given the wet walls has more leak-backs however well it works, so nothing "
    "here says that a crew works badly."
)

WORKED_OUT = (
    "Leak-backs as on the leak-backs page. Resin and labour are totals divided by totals, with the error taken "
    "between jobs (ratio estimator, Cochran 1977, ch. 6) and intervals at 95 %."
)


def build(records: Records, said: Said) -> Page:
    """Each crew's leak-back rate and what it uses."""
    months = int(MONTHS.of(said))
    rates = metrics.measure(records.ask, RATE, (CREW,), months=months)
    if rates.rows.is_empty():
        return Page(
            answer="No finished repair of any crew yet.",
            wanting="Load finished jobs with their crews.",
            choices=(MONTHS,),
        )
    overall = metrics.measure(records.ask, RATE, months=months).rows.row(0, named=True)
    reference = (overall["value"], f"all crews {words.percent(overall['value'])}") if overall["value"] else None
    plot = interval_dots(rates.rows.rename({"crew": "group", "cracks": "count"}), reference=reference)
    chart = (Chart((plot,), f"Leak-back rate of each crew within {months} months."),) if plot else ()
    return Page(
        answer=_answer(rates.rows, months),
        choices=(MONTHS,),
        parts=(Words(UNFAIR), *chart, table(rates), Section("Resin and labour", (_work(records),))),
        worked_out=WORKED_OUT,
    )


def _answer(rows: pl.DataFrame, months: int) -> str:
    known = rows.drop_nulls("value").sort("value")
    thin = rows.height - known.height
    few = f"; {words.counted(thin, 'crew has', 'crews have')} too few cracks watched to say" if thin else ""
    if known.is_empty():
        return f"No crew has enough cracks watched for {months} months to say anything yet."
    low, high = known.row(0, named=True), known.row(-1, named=True)
    return (
        f"Of {words.counted(rows.height, 'crew')}, leak-backs within {months} months run from {estimate(RATE, low)} "
        f"for {low['crew']} to {estimate(RATE, high)} for {high['crew']}, whatever cracks each was given{few}."
    )


def _work(records: Records) -> Table:
    """Resin and labour of every crew, a column a metric."""
    frames, columns = [], [Column("crew", "crew")]
    for name in WORK:
        metric = metrics.METRICS[name]
        found = metrics.measure(records.ask, metric, (CREW,)).rows
        frames.append(found.select("crew", *(pl.col(key).alias(f"{name}_{key}") for key in ("value", "low", "high"))))
        unit = "" if metric.unit == "ratio" else f", {metric.unit}"
        columns.append(
            Column(
                f"{name}_value",
                f"{metric.words}{unit}",
                kind="number",
                low=f"{name}_low",
                high=f"{name}_high",
                help=metric.says,
                digits=2 if metric.unit in {"ratio", "L/m"} else 0,
            )
        )
    rows = frames[0]
    for frame in frames[1:]:
        rows = rows.join(frame, on="crew", how="full", coalesce=True, maintain_order="left")
    return Table(tuple(columns), rows, title="Resin and labour by crew")

"""A metric by any grouping, as a page: what ``leakback measure`` prints."""

import polars as pl

from analytics.answers.records import Records
from analytics.contract import words
from analytics.metrics import METRICS, Measured, Metric, measure
from analytics.pages.page import Column, Figure, Figures, Page, Table
from analytics.store import Ask

UNITS = {"share": "%", "ratio": "×"}
TWO_DIGITS = {"ratio", "L/m"}


def build(records: Records, measured: Measured) -> Page:
    """The metric's answer in a sentence, then every segment."""
    metric, rows = measured.metric, measured.rows
    if rows.is_empty():
        return Page(
            answer=f"No finished crack to measure the {metric.words} on.",
            wanting="Load finished jobs with their cracks, or ask for fewer conditions.",
        )
    asked = f" within {measured.months} months" if metric.is_rate else ""
    by = ", ".join(d.words for d in measured.by)
    return Page(
        answer=_sentence(measured) if not measured.by else f"{_heading(metric)}{asked}, by {by}.",
        parts=(table(measured),),
        worked_out=f"{metric.says.capitalize()}. Intervals at {words.level(measured.level)}, widened because cracks of "
        f"one job go together. Records to {words.full_day(records.as_of)}.",
    )


def table(measured: Measured) -> Table:
    """Every segment with its value, interval and counts."""
    metric = measured.metric
    values = Column(
        "value",
        _heading(metric),
        kind="percent" if metric.is_rate else "number",
        unit="" if metric.is_rate else unit(metric),
        low="low",
        high="high",
        digits=None if metric.is_rate else 2,
        help=metric.says,
    )
    counts = [Column("cracks", "cracks", kind="number"), Column("jobs", "jobs", kind="number")]
    if metric.is_rate:
        counts = [
            Column("events", "leak-backs", kind="number"),
            Column("watched", "still watched", kind="number", help="cracks still watched at that age"),
            *counts,
        ]
    segments = [Column(d.name, d.words) for d in measured.by]
    rows = measured.rows.with_columns(words.worded(d.name) for d in measured.by if d.values)
    return Table((*segments, values, *counts), rows, title=_heading(metric), note=_silences(measured))


def estimate(metric: Metric, row: dict[str, object]) -> str:
    """One segment's value with its interval, as people read it."""
    value, low, high = (row[key] if isinstance(row[key], float) else None for key in ("value", "low", "high"))
    if metric.is_rate:
        return words.percent_estimate(value, low, high)  # type: ignore[arg-type]
    return words.estimate(value, low, high, 2, unit(metric))  # type: ignore[arg-type]


def resin_and_labour(ask: Ask) -> Figures:
    """Resin and labour of all finished work, a figure a metric."""
    return Figures(
        tuple(
            Figure(
                metric.words,
                row["value"],
                row["low"],
                row["high"],
                count=words.counted(row["cracks"], "crack"),
                unit=unit(metric),
                digits=digits(metric),
                note=row["note"] or "",
            )
            for metric in METRICS.values()
            if not metric.is_rate
            for row in measure(ask, metric).rows.to_dicts()
        )
    )


def unit(metric: Metric) -> str:
    """The unit as people write it."""
    return UNITS.get(metric.unit, metric.unit)


def digits(metric: Metric) -> int:
    """Digits after the point in a figure of finished work."""
    if metric.is_rate:
        return 1
    return 2 if metric.unit in TWO_DIGITS else 0


def _silences(measured: Measured) -> str:
    """Why some segments have no value, a sentence each."""
    silent = measured.rows.filter(pl.col("note").is_not_null())
    names = (", ".join(words.word(str(row[d.name])) for d in measured.by) for row in silent.to_dicts())
    return "; ".join(f"{name}: {note}" if name else note for name, note in zip(names, silent["note"], strict=True))


def _heading(metric: Metric) -> str:
    return metric.words.capitalize()


def _sentence(measured: Measured) -> str:
    metric, row = measured.metric, measured.rows.row(0, named=True)
    count, level = words.counted(row["cracks"], "repaired crack"), words.at_level(measured.level)
    if row["value"] is None:
        return f"Too little to say the {metric.words}: {row['note']}."
    if metric.is_rate:
        return f"Of {count}, {estimate(metric, row)} leaked back within {measured.months} months{level}."
    return f"{_heading(metric)}: {estimate(metric, row)}, over {count}{level}."

"""A finished job as it was written down: each crack with what went into it and how it has held, and the calls."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.charts import words
from analytics.contract.ages import DAYS_PER_YEAR, MONTHS_PER_YEAR
from analytics.pages import job
from analytics.pages.page import Column, Figure, Figures, Part, Section, Table

STEPS = {"cleaned": "cleaned first", "dried": "dried first", "water_tested": "water tested first"}
NO_CALL = "No customer has called about this job."


def parts(records: Records, rows: JobRows) -> tuple[Part, ...]:
    """A section a crack with its drawing, then the calls."""
    watched = records.ask("follow_up").filter(pl.col("job_id") == rows.job_id)
    held = {row["crack_id"]: row for row in watched.to_dicts()}
    cracks = rows.frames["cracks"].to_dicts()
    sections = (
        Section(
            f"Crack {place} of {len(cracks)}: {facts['crack_id']}",
            (Figures((*_held(held.get(facts["crack_id"])), *job.measured(facts), *_used(facts))),),
            aside=job.drawing(facts),
        )
        for place, facts in enumerate(cracks, 1)
    )
    return (*sections, Section("Calls", (_calls(rows.frames["callbacks"]),)))


def _held(watched: Mapping[str, Any] | None) -> tuple[Figure, ...]:
    if watched is None:
        return ()
    months = words.counted(round(watched["watched_days"] / DAYS_PER_YEAR * MONTHS_PER_YEAR), "month")
    said = f"leaked back after {months}" if watched["leaked_back"] else f"no leak-back in {months} under watch"
    note = "counted here by rule: the call names no crack" if watched["placed_by_rule"] else ""
    return (Figure("since the repair", said, kind="text", note=note),)


def _used(facts: Mapping[str, Any]) -> tuple[Figure, ...]:
    """What the crew wrote down on the day."""
    used = (
        Figure("ports used", facts["port_count"]),
        Figure("resin used", facts["resin_litres"], unit="L", digits=2),
        Figure("labour", facts["labour_minutes"], unit="min", digits=0, note="person-minutes"),
    )
    return (*used, *(Figure(label, words.text(facts[step]), kind="text") for step, label in STEPS.items()))


def _calls(calls: pl.DataFrame) -> Table:
    columns = (
        Column("callback_id", "call"),
        Column("reported_on", "reported"),
        Column("finding", "found"),
        Column("crack_id", "on crack"),
        Column("labour_minutes", "minutes", kind="number", digits=0),
        Column("material_cost", "material", kind="number", digits=2),
    )
    return Table(columns, calls.with_columns(words.worded("finding")), title="Calls about this job", empty=NO_CALL)

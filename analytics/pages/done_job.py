"""A finished job as it was written down: each crack with what went into it and how it has held, and the calls."""

import math
from collections.abc import Mapping
from typing import Any

import polars as pl

from analytics.answers import currencies
from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.ages import months_of
from analytics.pages import job
from analytics.pages.page import Column, Figure, Figures, Part, Section, Table
from analytics.risk.features import BY_NAME, STEPS

FEWEST_MONTHS = 2
"""A shorter time is told in days."""
NO_CALL = "No customer has called about this job."


def parts(records: Records, rows: JobRows) -> tuple[Part, ...]:
    """A section a crack with its drawing, then the calls."""
    own = pl.col("job_id") == rows.job_id
    watched = {row["crack_id"]: row for row in records.ask("follow_up").filter(own).to_dicts()}
    placed = records.ask("placed_leak_backs").filter(own).sort("reported_on", "callback_id")
    cracks = rows.frames["cracks"].to_dicts()
    sections = []
    for place, facts in enumerate(cracks, 1):
        crack_id = facts["crack_id"]
        calls = placed.filter(pl.col("crack_id") == crack_id)
        held = _held(watched[crack_id], calls) if crack_id in watched else ()
        figures = Figures((*held, *job.measured(facts), *_used(facts)))
        sections.append(Section(f"Crack {place} of {len(cracks)}: {crack_id}", (figures,), aside=job.drawing(facts)))
    return (*sections, Section("Calls", (_calls(records, rows.frames["callbacks"]),)))


def _held(watched: Mapping[str, Any], calls: pl.DataFrame) -> tuple[Figure, ...]:
    """How a crack has held; ``calls`` are the leak-backs counted on it, the first first."""
    time = _time(watched["watched_days"])
    if watched["leaked_back"]:
        said = f"leaked back after {time}"
        note = "counted here by rule: the call names no crack" if calls["placed_by_rule"][0] else ""
    else:
        said = f"no leak-back in {time} under watch"
        note = "" if calls.is_empty() else "it leaked back once its warranty had ended, which no rate counts"
    return (Figure("since the repair", said, kind="text", note=note),)


def _time(days: float) -> str:
    months = round(months_of(days))
    return words.counted(months, "month") if months >= FEWEST_MONTHS else words.counted(math.ceil(days), "day")


def _used(facts: Mapping[str, Any]) -> tuple[Figure, ...]:
    """What the crew wrote down on the day."""
    used = (
        Figure("ports used", facts["port_count"]),
        Figure("resin used", facts["resin_litres"], unit="L", digits=2),
        Figure("labour", facts["labour_minutes"], unit="min", digits=0, note="person-minutes"),
    )
    steps = (Figure(BY_NAME[step].words, words.text(facts[step]), kind="text") for step in STEPS)
    return (*used, *steps)


def _calls(records: Records, calls: pl.DataFrame) -> Table:
    """The calls; where their costs are in several currencies, each with its own."""
    days = pl.Series("currency", [currencies.of_day(records, day) for day in calls["reported_on"]], dtype=pl.String)
    told = calls.with_columns(words.worded("finding"), pl.when(pl.col("material_cost").is_not_null()).then(days))
    several = told["currency"].drop_nulls().unique().to_list()
    of_all, of_each = (several[0], "") if len(several) == 1 else ("", "currency")
    columns = (
        Column("callback_id", "call"),
        Column("reported_on", "reported"),
        Column("finding", "found"),
        Column("crack_id", "on crack"),
        Column("labour_minutes", "labour", kind="number", unit="min", digits=0, help="person-minutes"),
        Column("material_cost", "material", kind="money", unit=of_all, under=of_each, digits=2),
    )
    return Table(columns, told, title="Calls about this job", empty=NO_CALL)

"""A month of the business: what was done, what was called about, what leaked back, and how well it was written down."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.answers.records import Records
from analytics.contract.ages import DAYS_PER_YEAR, MONTHS_PER_YEAR
from analytics.contract.month import Month
from analytics.errors import LeakbackError

WRITTEN_DOWN = {
    "width_mm": "width",
    "wall_thickness_mm": "wall thickness",
    "water": "water at the crack",
    "movement": "movement",
    "wall_temp_c": "wall temperature",
    "port_spacing_mm": "port spacing",
    "port_count": "ports used",
    "resin_litres": "resin used",
    "labour_minutes": "labour",
    "cleaned": "cleaned or not",
    "dried": "dried or not",
    "water_tested": "water tested or not",
}
"""What the figures rest on, crack by crack, in plain words."""


@dataclass(frozen=True)
class MonthWork:
    """One month, read from the records as they stood at its end (or as far as they reach into it).

    ``done``: the cracks repaired in it, as in follow_up. ``leak_backs``: callback_id, job_id, crack_id, reported_on,
    done_on, age_months, resin, crew_id, under_warranty, placed_by_rule. ``calls``: finding, calls. ``written``: what,
    recorded, cracks, share. ``latest``: the records reach no further than this month.
    """

    month: Month
    as_of: date
    latest: bool
    done: pl.DataFrame
    leak_backs: pl.DataFrame
    calls: pl.DataFrame
    written: pl.DataFrame


def month_of(records: Records, written: str = "") -> Month:
    """The month asked for; the one the records reach into where none is. LeakbackError where they do not reach it."""
    if records.as_of is None:
        raise LeakbackError("nothing is quoted, done or reported yet: load jobs, cracks and callbacks first")
    month = Month.read(written) if written else Month.of(records.as_of)
    if month.first_day > records.as_of:
        raise LeakbackError(f"month {month}: the records reach only to {records.as_of}; ask for an earlier month")
    return month


def work_of(records: Records, month: Month) -> MonthWork:
    """What the month brought."""
    past = at_the_end(records, month)
    follow_up = past.ask("follow_up")
    done = follow_up.filter(pl.col("done_on").is_between(month.first_day, month.last_day))
    return MonthWork(
        month=month,
        as_of=past.as_of or month.last_day,
        latest=month == Month.of(records.as_of) if records.as_of else True,
        done=done,
        leak_backs=_leak_backs(past, follow_up, month),
        calls=past.ask("calls_by_finding", first_day=month.first_day, last_day=month.last_day),
        written=_written(done),
    )


def at_the_end(records: Records, month: Month) -> Records:
    """The records as they stood at the end of the month."""
    if records.as_of is None or month.last_day >= records.as_of:
        return records
    return Records.of(records.store.path, month.last_day)


def _leak_backs(records: Records, follow_up: pl.DataFrame, month: Month) -> pl.DataFrame:
    found = records.ask("placed_leak_backs").filter(pl.col("reported_on").is_between(month.first_day, month.last_day))
    facts = follow_up.select("crack_id", "done_on", "warranty_ends_on", "resin", "crew_id")
    days = (pl.col("reported_on") - pl.col("done_on")).dt.total_days()
    return (
        found.join(facts, on="crack_id", how="left")
        .with_columns(
            age_months=days * (MONTHS_PER_YEAR / DAYS_PER_YEAR),
            under_warranty=pl.col("warranty_ends_on").is_null() | (pl.col("reported_on") <= pl.col("warranty_ends_on")),
        )
        .sort("reported_on", "callback_id")
    )


def _written(done: pl.DataFrame) -> pl.DataFrame:
    rows = [
        {"what": words, "recorded": done[column].count(), "cracks": done.height}
        for column, words in WRITTEN_DOWN.items()
    ]
    return pl.DataFrame(rows).with_columns(
        share=pl.when(pl.col("cracks") > 0).then(pl.col("recorded") / pl.col("cracks"))
    )

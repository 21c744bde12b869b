"""The portfolio at a glance: what needs a decision, and how the finished work is holding."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta

import polars as pl

from analytics import metrics
from analytics.answers import crew_sentences as sentences
from analytics.answers import crews as judging
from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.roles import RECORD_PAGE
from analytics.contract.rules import ACTIONS, DO_NOT_INJECT
from analytics.pages import crews, first_load, leak_backs, monthly, upcoming, weeks_ahead
from analytics.pages.measured import estimate, resin_and_labour
from analytics.pages.page import Column, Figure, Figures, Page, Said, Section, Table, Words

HORIZONS_MONTHS = (12, 24, 60)
MOST_LISTED = 8
AHEAD = timedelta(days=7)
NEXT, LATER = "Next to act on", "For later work, in the same order"
NONE_NEEDS = "No planned crack needs more than the standard steps."
ORDER = "An engineer's look first, then a missing measurement, then extra prep; the earliest day first in each."


def build(records: Records, said: Said) -> Page:
    """What needs doing first, then the figures of the finished work."""
    del said
    if records.as_of is None and records.ask("records").filter(table_name="jobs")["row_count"].item() == 0:
        return first_load.build(records)
    found = flagging.flags(records)
    rates = metrics.curves(records.ask, ages_months=HORIZONS_MONTHS)
    holding = (_rates(rates), resin_and_labour(records.ask))
    return Page(
        answer=_answer(found, rates),
        parts=(
            *_next(found),
            *_to_write_down(records),
            *_crews(records),
            *([Section("How finished work is holding", holding)] if any(each.rows for each in holding) else []),
            Section("Done by year", (_years(records),)),
            *monthly.offered(records),
        ),
        worked_out="Each figure is worked out as its own page says: leak-backs, and resin and labour by crew.",
    )


def _next(found: flagging.Flags) -> tuple[Section, ...]:
    """What needs something: for the week ahead, which cannot wait, then for later, which an engineer may hold up."""
    needing = upcoming.listed(found).filter(pl.col("action") != flagging.STANDARD)
    if needing.is_empty():
        return (Section(NEXT, (Words(NONE_NEEDS), *upcoming.cautions())),) if found.flags else ()
    rank = pl.col("action").cast(pl.Enum(ACTIONS))
    needing = needing.sort(rank, "planned_on", nulls_last=True, maintain_order=True)
    until = found.as_of and found.as_of + AHEAD
    soon = needing.filter(pl.col("planned_on") <= pl.lit(until, pl.Date))
    later = needing.join(soon, on="crack_id", how="anti", maintain_order="left")
    titled = [(f"{NEXT}, for work by {words.day(until)}", soon), (LATER, later)] if soon.height else [(NEXT, needing)]
    parts = [(title, _pressing(found, title, rows)) for title, rows in titled if rows.height]
    order = (Words(ORDER, tone="muted"),) if needing.height > 1 else ()
    first, last = parts[0][0], parts[-1][0]
    return tuple(
        Section(title, (*(order if title == first else ()), *listed, *(upcoming.cautions() if title == last else ())))
        for title, listed in parts
    )


def _pressing(found: flagging.Flags, title: str, rows: pl.DataFrame) -> tuple[Table | Words, ...]:
    """The first of ``rows``, and how many more there are."""
    more = rows.height - MOST_LISTED
    left = f"{words.counted(more, 'more crack')} under Upcoming jobs."
    rest = (Words(left, "muted", (("Upcoming jobs", upcoming.PATH),)),) if more > 0 else ()
    return (weeks_ahead.table(found, rows.head(MOST_LISTED), title), *rest)


def _to_write_down(records: Records) -> tuple[Section, ...]:
    """What waits for who may write it down: jobs whose day is past, calls without a finding or not of their job."""
    past, calls, stray = (records.ask(name).height for name in ("overdue_jobs", "open_calls", "stray_calls"))
    said = [
        *([words.counted(past, "planned job's day is past", "planned jobs' days are past")] if past else []),
        *([words.counted(calls, "call waits for a finding", "calls wait for a finding")] if calls else []),
        *([words.counted(stray, "call does not fit its job", "calls do not fit their jobs")] if stray else []),
    ]
    text = Words(f"{', '.join(said)}, under Write down.", links=(("Write down", RECORD_PAGE),))
    return (Section("To be written down", (text,), holds=(RECORD_PAGE,)),) if said else ()


def _crews(records: Records) -> tuple[Section, ...]:
    """Who stands out, each crew opening to what its work shows; nothing where no crew can be judged yet."""
    found = judging.crews(records)
    if found.judged is None:
        return ()
    out = found.rows.filter(pl.col("signal") != "none")
    table = (crews.table(replace(found, rows=out)),) if out.height else ()
    return (Section("Crews", (Words(sentences.opening(found.rows, found.said)), *table)),)


def _answer(found: flagging.Flags, rates: pl.DataFrame) -> str:
    counts = Counter(flag.needs for flag in found.flags)
    needing = len(found.flags) - counts[flagging.STANDARD] - counts[DO_NOT_INJECT]
    engineer = counts[flagging.ENGINEER]
    planned = (
        "No crack is planned."
        if not found.flags
        else (
            f"{words.number(needing)} of {words.counted(len(found.flags), 'planned crack')} "
            f"{'needs' if needing == 1 else 'need'} something before the work, "
            f"{words.number(engineer) if engineer else 'none'} of them an engineer."
            f"{upcoming.decided(counts[DO_NOT_INJECT])}"
        )
    )
    two_years = rates.filter(pl.col("age_months") == HORIZONS_MONTHS[1]).to_dicts()
    if not two_years or two_years[0]["value"] is None:
        return planned
    row = two_years[0]
    done = words.counted(row["cracks"], "repaired crack")
    return f"{planned} Of {done}, {estimate(leak_backs.RATE, row)} leaked back within 24 months."


def _rates(rates: pl.DataFrame) -> Figures:
    return Figures(
        tuple(
            Figure(
                f"leaked back within {row['age_months']} months",
                row["value"],
                row["low"],
                row["high"],
                count=f"{words.counted(row['events'], 'leak-back')}, {words.number(row['watched'])} still watched",
                kind="percent",
                digits=1,
                note=row["note"] or "",
            )
            for row in rates.to_dicts()
        )
    )


def _years(records: Records) -> Table | Words:
    follow_up = records.ask("follow_up")
    if follow_up.is_empty():
        return Words("No finished work yet.")
    rows = (
        follow_up.group_by("year")
        .agg(
            jobs=pl.col("job_id").n_unique(),
            cracks=pl.len(),
            metres=pl.col("length_m").sum(),
            leaked=pl.col("leaked_back").sum(),
        )
        .sort("year")
    )
    columns = (
        Column("year", "year"),
        Column("jobs", "jobs", kind="number"),
        Column("cracks", "cracks", kind="number"),
        Column("metres", "length of crack", kind="number", unit="m", digits=0),
        Column("leaked", "leaked back so far", kind="number", help="of that year's repairs; the latest had least time"),
    )
    return Table(columns, rows, title="Finished work by year")

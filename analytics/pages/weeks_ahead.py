"""The planned cracks by week and crew: what each week asks for, and each crew's list."""

import polars as pl

from analytics.answers.flagging import Flags
from analytics.answers.records import Records
from analytics.charts.palette import ACTION_MARKS
from analytics.contract import words
from analytics.contract.rules import DO_NOT_INJECT
from analytics.pages import papers
from analytics.pages.page import Choice, Column, Part, Section, Table, Words

PATH = "upcoming"
EVERY = "every"
NO_CREW = "no crew yet"
NONE = "No planned crack is like that."
COUNTED = ("engineer_review", DO_NOT_INJECT, "measure_first", "extra_prep")


def with_week(rows: pl.DataFrame) -> pl.DataFrame:
    """``rows`` with week, the Monday of the week of planned_on."""
    return rows.with_columns(week=pl.col("planned_on").dt.truncate("1w"))


def choice(rows: pl.DataFrame) -> Choice:
    """One week of those with work planned, or all."""
    weeks = rows["week"].drop_nulls().unique().sort().to_list()
    return Choice("week", "Week", {EVERY: "every week"} | {str(w): f"of {words.day(w)}" for w in weeks}, EVERY)


def table(found: Flags, rows: pl.DataFrame, title: str, *, crew_first: bool = False) -> Table:
    """Planned cracks, the job number opening the job; ``crew_first`` where a list is read crew by crew."""
    crew = (Column("crew_id", "crew"),) if crew_first else ()
    columns = (
        *crew,
        Column("planned_on", "when", kind="date", under="overdue"),
        Column("job_id", "job", under="" if crew_first else "crew_id", link=PATH),
        Column("crack_id", "crack"),
        Column("needs", "what it needs", kind="action"),
        Column("why", "why"),
        Column("risk", f"leak-back in {found.months} months", kind="percent", low="low", high="high"),
    )
    note = "" if rows["risk"].is_null().all() else words.intervals(found.level)
    return Table(columns, rows, title=title, note=note, empty=NONE)


def by_crew(records: Records, found: Flags, rows: pl.DataFrame, every: pl.DataFrame) -> tuple[Part, ...]:
    """A section a week, its cracks crew by crew and day by day, with the sheets of ``every`` job of it to print.

    ``rows`` are those of ``every`` that are asked for; a week says how many of its jobs and cracks they are.
    """
    if rows.is_empty():
        return (Words(NONE),) if found.flags else ()
    ordered = rows.sort("week", "crew_id", "planned_on", "job_id", "crack_id", nulls_last=True)
    weeks = ordered.partition_by("week", maintain_order=True)
    return tuple(_week(records, found, week, every) for week in weeks)


def _week(records: Records, found: Flags, rows: pl.DataFrame, every: pl.DataFrame) -> Section:
    monday = rows["week"][0]
    title = f"Week of {words.day(monday)}" if monday else "No day set yet"
    whole = every.filter(pl.col("week").eq_missing(monday))
    jobs = words.out_of(rows["job_id"].n_unique(), whole["job_id"].n_unique(), "job")
    cracks = words.out_of(rows.height, whole.height, "crack")
    crews = words.counted(rows["crew_id"].drop_nulls().n_unique(), "crew")
    listed = rows.with_columns(pl.col("crew_id").fill_null(NO_CREW))
    sheets = papers.week_sheets(records, found, whole)
    return Section(f"{title}: {jobs}, {cracks}, {crews}", (*sheets, table(found, listed, title, crew_first=True)))


def load(rows: pl.DataFrame) -> tuple[Section, ...]:
    """What each week asks for; the week opens to its list. Nothing where no day is set."""
    planned = rows.drop_nulls("week")
    if planned.is_empty():
        return ()
    weeks = (
        planned.group_by("week")
        .agg(
            pl.col("job_id").n_unique().alias("jobs"),
            pl.len().alias("cracks"),
            pl.col("crew_id").drop_nulls().n_unique().alias("crews"),
            *((pl.col("needs") == needs).sum().alias(needs) for needs in COUNTED),
        )
        .sort("week")
    )
    columns = (
        Column("week", "week of", kind="date", link=f"{PATH}?needs={EVERY}&order=week"),
        *(Column(key, key, kind="number") for key in ("jobs", "cracks", "crews")),
        *(
            Column(needs, ACTION_MARKS[needs].word, kind="number")
            for needs in COUNTED
            if needs != DO_NOT_INJECT or (weeks[needs] > 0).any()
        ),
    )
    return (Section("Weeks ahead", (Table(columns, weeks, "Weeks ahead"),)),)

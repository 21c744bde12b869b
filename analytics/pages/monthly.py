"""The month for the owner: what was done, what leaked back, how the work holds, and what is coming.

Put together from the other pages: a section is one function here, and one line in SECTIONS.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from functools import partial

import polars as pl

from analytics import metrics
from analytics.answers import crews as judging
from analytics.answers import flagging
from analytics.answers.loading import rejects
from analytics.answers.monthly import MonthWork, at_the_end, work_of
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.month import Month
from analytics.contract.rules import DO_NOT_INJECT
from analytics.pages import crew, crews, leak_backs, monthly_money, papers, prices, rejected, reserve, upcoming
from analytics.pages.measured import estimate, resin_and_labour
from analytics.pages.page import (
    Chart,
    Column,
    Document,
    Download,
    Downloads,
    Figure,
    Figures,
    Page,
    Part,
    Section,
    Table,
    Words,
)

AHEAD = timedelta(weeks=5)
HORIZON_MONTHS = 24
IN_ORDER = " They stand in the order of their days."
HOLDS = (crews.PATH, prices.PATH, reserve.PATH)
WORKED_OUT = f"""
**The month.** Counts are of that month alone; a month brings few leak-backs, so compare them with the rates beneath
and not with the month before. A leak-back counts in the month it was reported, on whatever work it came back from. The
cost of the work is resin, ports, seal, labour with set-up, and travel at the rates in force at the month's end, of the
cracks that have all of it written down; leak-backs to come are not in it. So it is not to be taken from what was
charged, which is of all jobs: beneath stand the charge and the cost of the same jobs, those of which both are known
whole.

**The rates** are those of all finished work as the records stood at the month's end, read off the product-limit curve,
intervals at {words.level()}; resin and labour are totals divided by totals, the error taken between jobs. How each
is worked out stands on its own page.
"""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a section is made from: the records as they stand, as they stood at the month's end, and the month."""

    now: Records
    then: Records
    work: MonthWork


def build(records: Records, month: Month, about: str = "") -> Document:
    """The report of one month; crews, coming jobs and the reserve only where the records reach no further."""
    asked = Asked(records, at_the_end(records, month), work_of(records, month))
    sections = [section(asked) for section in SECTIONS]
    page = Page(
        answer=_answer(asked),
        parts=tuple(section for section in sections if section is not None),
        worked_out=WORKED_OUT,
    )
    return Document(f"Report for {month.words}", (page,), about, asked.work.as_of)


def offered(records: Records) -> tuple[Section, ...]:
    """The report of the last whole month to print, for whoever may see all that is in it; nothing before any record."""
    if records.as_of is None:
        return ()
    month = Month.last_whole(records.as_of)
    make = partial(build, records, month, papers.about(records))
    rows = (
        Download(f"Print the report of {month.words}", f"report-{month}.pdf", make, holds=HOLDS),
        Download("Save it as a page", f"report-{month}.html", make, holds=HOLDS),
    )
    return (Section("The month on paper", (Downloads(rows),)),)


def _answer(asked: Asked) -> str:
    work = asked.work
    done = words.counted(work.done.height, "crack")
    jobs = words.counted(work.done["job_id"].n_unique(), "job")
    found = words.counted(work.leak_backs.height, "leak-back was", "leak-backs were")
    month = f"{work.month.words}: {done} of {jobs} repaired; {found} found on work done until then."
    row = metrics.measure(asked.then.ask, leak_backs.RATE, months=HORIZON_MONTHS).rows.to_dicts()
    if not row or row[0]["value"] is None:
        return month
    whole = words.counted(row[0]["cracks"], "crack repaired so far", "cracks repaired so far")
    return f"{month} Of {whole}, {estimate(leak_backs.RATE, row[0])} leaked back within {HORIZON_MONTHS} months."


def _month(asked: Asked) -> Section:
    work = asked.work
    calls = [
        Figure(f"calls: {words.word(row['finding'])}", row["calls"], kind="number") for row in work.calls.to_dicts()
    ]
    hours = work.done.select(hours=pl.col("labour_minutes") / 60)
    return Section(
        "The month",
        (
            Figures(
                (
                    Figure("jobs finished", work.done["job_id"].n_unique()),
                    Figure("cracks repaired", work.done.height),
                    *monthly_money.figures(asked.then, work.done),
                    _total("length of crack", work.done, "length_m", "m", digits=0),
                    *_used(work.done),
                    _total("labour", hours, "hours", "person-hours", digits=0),
                    *calls,
                )
            ),
        ),
    )


def _used(done: pl.DataFrame) -> list[Figure]:
    by_resin = done.drop_nulls("resin").sort("resin").group_by("resin", maintain_order=True)
    return [
        _total(f"{words.word(str(resin))} used", cracks, "resin_litres", "L", digits=1) for (resin,), cracks in by_resin
    ]


def _total(name: str, cracks: pl.DataFrame, column: str, unit: str, *, digits: int) -> Figure:
    """A total, and over how many of the cracks it was recorded."""
    recorded = cracks[column].count()
    over = monthly_money.over(recorded, cracks.height, "crack", "recorded")
    return Figure(name, float(cracks[column].sum()) if recorded else None, count=over, unit=unit, digits=digits)


def _found(asked: Asked) -> Section:
    columns = (
        Column("reported_on", "reported", kind="date"),
        Column("job_id", "job", under="crew_id"),
        Column("crack_id", "crack"),
        Column("resin", "resin"),
        Column("done_on", "repaired"),
        Column("age_months", "months after", kind="number", digits=0, help="months from the repair to the report"),
    )
    to_know = (Column("noted", "to know"),)
    noted = pl.concat_str(
        pl.when(pl.col("placed_by_rule")).then(pl.lit("crack placed by rule")),
        pl.when(~pl.col("under_warranty")).then(pl.lit("warranty had ended: not in the rates")),
        separator="; ",
        ignore_nulls=True,
    )
    rows = asked.work.leak_backs.with_columns(
        noted=noted,
        resin=words.worded("resin"),
    )
    shown = columns + to_know if (rows["noted"] != "").any() else columns
    table = Table(shown, rows, title="Leak-backs found", empty="No leak-back was reported in this month.")
    return Section("Leak-backs found", (table,))


def _holding(asked: Asked) -> Section:
    page = leak_backs.build(asked.then, {})
    return Section("How finished work is holding", (Words(page.answer), *page.parts))


def _resin_and_labour(asked: Asked) -> Section | None:
    found = resin_and_labour(asked.then.ask)
    return Section("Resin and labour, all finished work", (found,)) if found.rows else None


def _crews(asked: Asked) -> Section | None:
    if not asked.work.latest:
        return None
    found = judging.crews(asked.now)
    page = crews.judged(found)
    return Section("Crews", (*_opening(page), crews.table(found), Words(crew.FAIR, tone="muted")))


def _opening(page: Page) -> tuple[Words, ...]:
    """What a page opens with, and what it would take where that is too little."""
    wanting = (Words(page.wanting, tone="muted"),) if page.wanting else ()
    return (Words(page.answer, tone="strong"), *wanting)


def _coming(asked: Asked) -> Section:
    title = "Coming jobs that need something"
    if not asked.work.latest:
        said = f"Crews, coming jobs and the reserve are as they stand today: see the report of {_latest(asked)}."
        return Section(title, (Words(said, tone="muted"),))
    found = flagging.flags(asked.now)
    until = asked.work.as_of + AHEAD
    ahead = upcoming.listed(found).filter(pl.col("planned_on") <= until)
    listed = ahead.filter(pl.col("action") != flagging.STANDARD).sort("planned_on", "job_id", "crack_id")
    declined = listed.filter(pl.col("needs") == DO_NOT_INJECT).height
    needing, planned = listed.height - declined, words.counted(ahead.height, "crack")
    said = (
        f"{words.number(needing)} of {planned} planned until {words.full_day(until)} "
        f"{'needs' if needing == 1 else 'need'} something before the work.{upcoming.decided(declined)}"
        f"{IN_ORDER if listed.height > 1 else ''}"
    )
    return Section(title, (Words(said, tone="strong"), upcoming.table(found, listed), *upcoming.cautions()))


def _latest(asked: Asked) -> str:
    reach = asked.now.as_of
    return Month.of(reach).words if reach else "the latest month"


def _reserve(asked: Asked) -> Section | None:
    """The figures before the picture: on paper a picture that no longer fits goes over the page, away from them."""
    if not asked.work.latest:
        return None
    page = reserve.build(asked.now, {})
    figures, charts, notes = (
        [part for part in page.parts if isinstance(part, kind)] for kind in (Figures, Chart, Words)
    )
    return Section(reserve.TITLE, (*_opening(page), *figures, *charts, *notes))


def _records(asked: Asked) -> Section:
    waiting = rejected.count(rejects(asked.now))
    placed = asked.then.ask("unplaced_leak_backs").height
    columns = (
        Column("what", "written down, crack by crack"),
        Column("recorded", "cracks with it", kind="number"),
        Column("cracks", "of", kind="number"),
        Column("share", "share", kind="percent", digits=0),
    )
    figures = Figures(
        (
            Figure("rows waiting to be mended", waiting),
            Figure("leak-backs that name no crack", placed, note="counted by rule on the wettest, then widest crack"),
        )
    )
    rows = asked.work.written if asked.work.done.height else asked.work.written.clear()
    table = Table(columns, rows, title="What was written down this month", empty="Nothing was finished in this month.")
    parts: tuple[Part, ...] = (figures, table)
    return Section("How well it was written down", parts)


SECTIONS: tuple[Callable[[Asked], Section | None], ...] = (
    _month,
    _found,
    _holding,
    _resin_and_labour,
    _crews,
    _coming,
    _reserve,
    _records,
)
"""The report from top to bottom; a section with nothing to say is left out."""

"""The upcoming jobs, sorted by what needs doing; a job opens to its cracks, reasons, risks and sources."""

from collections import Counter
from dataclasses import replace

import polars as pl

from analytics.answers import flagging, quoting
from analytics.answers.flagging import Flags
from analytics.answers.job_rows import JobRows
from analytics.answers.records import Records
from analytics.charts.palette import ACTION_MARKS
from analytics.contract import words
from analytics.contract.descriptions import crew_said
from analytics.contract.references import reference
from analytics.contract.rules import DO_NOT_INJECT
from analytics.pages import job, job_price, papers, weeks_ahead
from analytics.pages.crack_forms import crack_forms
from analytics.pages.job_forms import planned_forms
from analytics.pages.page import Caution, Choice, Page, Part, Said, Section, Table, Words

PATH, EVERY = weeks_ahead.PATH, weeks_ahead.EVERY
NEEDS = Choice(
    "needs",
    "Show",
    {
        EVERY: "all planned cracks",
        "special": "needing something",
        **{action: mark.word for action, mark in ACTION_MARKS.items()},
    },
    "special",
)
ORDER = Choice("order", "Order", {"pressing": "most pressing first", "week": "by week and crew"}, "pressing")
DAY_IS_PAST = "day is past"
"""Of a planned job: done and not closed, or put off and not planned anew."""
WORKED_OUT = """
**Rules.** Every rule stands with its threshold, its source and the reason it gives. An engineer's look outranks a
missing measurement, which outranks extra prep; all reasons are shown. Thresholds are the published ones unless the
business has set its own on the page Policy. No risk, however low, takes an engineer's flag away: only an engineer's
recorded decision does, and no longer once the crack's width, offset, length, direction, movement or water is recorded
otherwise.

**Risk.** The chance of a leak-back from the business's own finished work (see how far to trust this), with its
interval; it knows only what is known before the work, and takes the crew's own habits for the rest.
"""


def build(records: Records, said: Said) -> Page:
    """The planned cracks, or one job where the address names one."""
    found = flagging.flags(records)
    opened = said.get("job_id", "")
    if opened and opened in found.planned["job_id"].to_list():
        return papers.with_sheets(_opened(records, found, opened), records, found, opened)
    every = weeks_ahead.with_week(listed(found))
    week, branch, crew = weeks_ahead.choice(every), _of(every, "branch"), _of(every, "crew_id", "crew")
    rows = every
    for choice, column in ((week, "week"), (branch, "branch"), (crew, "crew_id")):
        if choice.of(said) != EVERY:
            rows = rows.filter(pl.col(column).cast(pl.String) == choice.of(said))
    needing = _needing(rows, NEEDS.of(said))
    shown = (
        (*weeks_ahead.by_crew(records, found, needing, rows), *_below(found))
        if ORDER.of(said) == "week"
        else (*papers.week_sheets(records, found, rows), *_parts(found, needing))
    )
    unknown = (Words(f"No planned job {opened}."),) if opened else ()
    return Page(
        answer=_answer(found, rows, _narrowed(said, week, branch, crew)),
        choices=(NEEDS, ORDER, week, branch, crew),
        parts=(*unknown, *shown, *weeks_ahead.load(every)),
        worked_out=WORKED_OUT,
        wanting="" if found.flags else "Load planned jobs with their cracks to see what they need.",
    )


def _opened(records: Records, found: Flags, job_id: str) -> Page:
    """One job with what it should cost, and the forms of what can be recorded about it."""
    rows = JobRows.of(records, job_id)
    by_hand = {crack_id: crack_forms(records, rows, crack_id) for crack_id in rows.frames["cracks"]["crack_id"]}
    page = job.build(found, job_id, by_hand)
    flags = [flag for flag, _ in job.of_job(found, job_id)]
    price = job_price.section(quoting.quote_job(records, job_id), flags)
    record = Section("Record about this job", planned_forms(records, rows))
    return replace(page, parts=(price, *page.parts, record), worked_out=job_price.WORKED_OUT)


def table(found: Flags, rows: pl.DataFrame) -> Table:
    """The list as a table; the job number opens the job."""
    return weeks_ahead.table(found, rows, "Planned cracks")


def build_list(found: Flags, *, everything: bool) -> Page:
    """What ``leakback flags`` prints."""
    rows = listed(found)
    return Page(answer=_answer(found, rows), parts=_parts(found, rows if everything else _needing(rows, "special")))


def listed(found: Flags) -> pl.DataFrame:
    """One row a planned crack, most pressing first: its job's facts, action, what a list says, risk and reasons."""
    flags = pl.DataFrame(
        [
            {
                "crack_id": flag.crack_id,
                "action": flag.action,
                "needs": flag.needs,
                "risk": flag.risk,
                "low": flag.low,
                "high": flag.high,
                "why": "; ".join(r.text for r in flag.reasons),
            }
            for flag in found.flags
        ],
        schema={
            "crack_id": pl.String,
            "action": pl.String,
            "needs": pl.String,
            "risk": pl.Float64,
            "low": pl.Float64,
            "high": pl.Float64,
            "why": pl.String,
        },
    )
    past = pl.when(pl.col("planned_on") < pl.lit(found.as_of, pl.Date)).then(pl.lit(DAY_IS_PAST))
    facts = found.planned.select("crack_id", "job_id", "planned_on", "crew_id", "branch", overdue=past)
    return flags.join(facts, on="crack_id", how="left", maintain_order="left")


def cautions() -> tuple[Part, ...]:
    """What stands wherever flags are shown."""
    aid = reference("screening_aid")
    return (Caution(aid.says, aid.source),)


def _parts(found: Flags, rows: pl.DataFrame) -> tuple[Part, ...]:
    """The list and what stands beneath it; the answer alone says that nothing is planned."""
    return (*((table(found, rows),) if found.flags else ()), *_below(found))


def _below(found: Flags) -> tuple[Part, ...]:
    said = (Words(words.sentence(found.risks_said), tone="muted"),) if found.risks_said else ()
    return (*said, *cautions())


def _narrowed(said: Said, week: Choice, branch: Choice, crew: Choice) -> str:
    """Which of the planned cracks are asked for, in words that follow them."""
    told = [
        f"in the week {week.options[week.of(said)]}" if week.of(said) != EVERY else "",
        f"branch {branch.of(said)}" if branch.of(said) != EVERY else "",
        crew_said(crew.of(said)) if crew.of(said) != EVERY else "",
    ]
    return f" {', '.join(filter(None, told))}" if any(told) else ""


def _answer(found: Flags, rows: pl.DataFrame, narrowed: str = "") -> str:
    """What ``rows`` of the planned cracks need, but for what none does; ``narrowed`` says which they are."""
    counts = Counter(rows["needs"])
    if not found.flags:
        return "No planned cracks."
    if rows.is_empty():
        return f"No planned crack{narrowed}."
    said = (
        ("engineer_review", "needs an engineer first", "need an engineer first"),
        ("extra_prep", "needs extra prep", "need extra prep"),
        ("measure_first", "must be measured first", "must be measured first"),
    )
    needing = [words.counted(counts[needs], one, many) for needs, one, many in said if counts[needs]]
    planned = words.counted(rows.height, "planned crack")
    asked = f"Of {planned}{narrowed}, {words.listed(needing) or 'none needs anything before the work'}."
    return f"{asked}{decided(counts[DO_NOT_INJECT])}"


def decided(count: int) -> str:
    """A sentence for cracks that are not ones to inject, so that nobody waits; empty where there is none."""
    why = "decided by an engineer, or not injectable as measured"
    return f" {words.counted(count, 'is', 'are')} not to be injected: {why}." if count else ""


def _needing(rows: pl.DataFrame, needs: str) -> pl.DataFrame:
    if needs == EVERY:
        return rows
    return rows.filter(pl.col("action") != "standard" if needs == "special" else pl.col("needs") == needs)


def _of(planned: pl.DataFrame, column: str, label: str = "") -> Choice:
    label = label or column
    values = planned[column].drop_nulls().unique().sort().to_list()
    plural = {"branch": "all branches", "crew": "all crews"}[label]
    return Choice(label, label.capitalize(), {EVERY: plural} | {value: value for value in values}, EVERY)

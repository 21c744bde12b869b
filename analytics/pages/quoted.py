"""Many quotes in a list: what ``leakback quote --planned`` and ``--file`` print."""

import polars as pl

from analytics.answers.quote_file import READ
from analytics.answers.quoting import Quotes
from analytics.contract import words
from analytics.decisions.quote import Quote, Span
from analytics.pages.page import Column, Page, Part, Table, Words
from analytics.pages.shortened import first_rows
from analytics.pages.upcoming import cautions

_NUMBERS = ("litres_low", "litres_high", "minutes_low", "minutes_high", "floor", "target", "price")
_OF_JOB = ("litres_low", "litres_high", "hours_low", "hours_high", "floor", "target", "price", "margin")
_TEXTS = ("crack_id", "needs")
MOST_SHOWN = 200
"""Rows of a table; nobody reads more of them down a terminal."""
JOBS = "Whole jobs"
OF_JOBS = (
    "Each job's cracks that are to be injected, together; travel and set-up are in it once. A job of which a crack is "
    "not quoted is not here."
)
AS_CSV, AS_JSON = "leakback quote --format csv", "leakback quote --format json"


def build(found: Quotes) -> Page:
    """A row a crack, in the order asked; then what was not quoted and why."""
    if not found.quotes and not found.rejects:
        return Page(
            answer="No crack to quote.",
            wanting="Load planned jobs with their cracks, or give a crack.",
            parts=tuple(Words(said) for said in found.unused),
        )
    return Page(
        answer=_answer(found),
        parts=(
            _table(found),
            *_jobs(found),
            *_remarks(found),
            *_rejected(found),
            *_left_out(found),
            *(Words(said) for said in found.unused),
            *(Words(said, tone="muted") for said in found.said),
            *cautions(),
        ),
    )


def _answer(found: Quotes) -> str:
    if not found.quotes:
        rows = len({each["row"] for each in found.rejects})
        return f"No crack is quoted: {words.counted(rows, 'row was', 'rows were')} rejected."
    floors = [quote.price.floor for quote in found.quotes if quote.price.floor is not None]
    unlike = sum(quote.unlike is not None for quote in found.quotes)
    cracks = words.counted(len(found.quotes), "crack")
    cost = f" that cost {words.number(sum(floors), 0, found.currency)}" if len(floors) == len(found.quotes) else ""
    some = f"; {words.number(len(floors))} of them can be priced" if not cost else ""
    like = f"; {words.counted(unlike, 'is', 'are')} like no finished crack" if unlike else ""
    return f"{cracks}{cost}{some}{like}."


def _row(quote: Quote) -> dict[str, object]:
    """What a crack takes and costs; nothing of one that is not to be injected."""
    litres, minutes = (Span(), Span()) if quote.flag.unpriced else (quote.litres, quote.minutes)
    return {
        "crack_id": quote.crack_id,
        "litres_low": litres.low,
        "litres_high": litres.high,
        "minutes_low": minutes.low,
        "minutes_high": minutes.high,
        "floor": quote.price.floor,
        "target": quote.price.target,
        "price": quote.place.price if quote.place else None,
        "needs": quote.flag.needs,
    }


def _table(found: Quotes) -> Table:
    """A row a crack; its price, which of a job is its share by length, where any has one."""
    schema = dict.fromkeys(_TEXTS, pl.String) | dict.fromkeys(_NUMBERS, pl.Float64)
    rows = pl.DataFrame([_row(quote) for quote in found.quotes], schema=schema, strict=False)
    priced = any(quote.place for quote in found.quotes)
    columns = (
        Column("crack_id", "crack"),
        Column("litres", "resin", kind="range", unit="L", low="litres_low", high="litres_high", digits=2),
        Column("minutes", "labour", kind="range", unit="min", low="minutes_low", high="minutes_high", digits=0),
        Column("floor", "floor", kind="number", unit=found.currency, digits=0),
        Column("target", "target", kind="number", digits=0),
        *([Column("price", "price", kind="number", digits=0)] if priced else []),
        Column("needs", "what it needs", kind="action"),
    )
    table = Table(columns, rows, title="Quotes", note=f"Ranges hold {words.level(found.level)} of such cracks.")
    return first_rows(table, MOST_SHOWN, "crack", all_in=AS_CSV)


def _jobs(found: Quotes) -> tuple[Part, ...]:
    """The whole jobs, where any is of several cracks: a customer is quoted a job."""
    if all(job.cracks == 1 for job in found.jobs):
        return ()
    schema = {"job_id": pl.String, "cracks": pl.Int64} | dict.fromkeys(_OF_JOB, pl.Float64)
    rows = [
        {
            "job_id": job.job_id,
            "cracks": job.cracks,
            "litres_low": job.litres.low,
            "litres_high": job.litres.high,
            "hours_low": job.hours.low,
            "hours_high": job.hours.high,
            "floor": job.floor,
            "target": job.target,
            "price": job.price,
            "margin": job.margin,
        }
        for job in found.jobs
    ]
    frame = pl.DataFrame(rows, schema=schema, strict=False)
    columns = (
        Column("job_id", "job"),
        Column("cracks", "cracks", kind="number", digits=0),
        Column("litres", "resin", kind="range", unit="L", low="litres_low", high="litres_high", digits=2),
        Column("hours", "work", kind="range", unit="h", low="hours_low", high="hours_high", digits=1),
        Column("floor", "floor", kind="number", unit=found.currency, digits=0),
        Column("target", "target", kind="number", digits=0),
        Column("price", "price", kind="number", digits=0),
        Column("margin", "left", kind="percent", digits=0),
    )
    return (first_rows(Table(columns, frame, title=JOBS, note=OF_JOBS), MOST_SHOWN, "job", all_in=AS_JSON),)


def _remarks(found: Quotes) -> tuple[Part, ...]:
    """The cracks that no finished one is like, and those without a price, each with the reason that is its own.

    What no crack can be priced without is said once beneath.
    """
    unlike = [(quote.crack_id, "; ".join(quote.unlike.measurements)) for quote in found.quotes if quote.unlike]
    unpriced = [
        (quote.crack_id, why)
        for quote in found.quotes
        if quote.price.floor is None and (why := words.sentence(quote.flag.unpriced) or " ".join(quote.why_unpriced))
    ]
    parts = (("why no finished crack is like it", unlike), ("why it has no price", unpriced))
    return tuple(_listed(label, rows) for label, rows in parts if rows)


def _listed(label: str, rows: list[tuple[str, str]]) -> Table:
    frame = pl.DataFrame(rows, schema={"crack_id": pl.String, "what": pl.String}, orient="row")
    columns = (Column("crack_id", "crack"), Column("what", label))
    return first_rows(Table(columns, frame, title=f"Cracks, {label}"), MOST_SHOWN, "crack", all_in=AS_CSV)


def _left_out(found: Quotes) -> tuple[Part, ...]:
    """The columns of the file that no quote reads, and those that one does."""
    if not found.dropped_columns:
        return ()
    named = words.listed([words.as_written(name) for name in found.dropped_columns])
    return (Words(f"Columns that no quote reads, left out: {named}. A quote reads {words.listed(list(READ))}."),)


def _rejected(found: Quotes) -> tuple[Part, ...]:
    if not found.rejects:
        return ()
    columns = (Column("row", "row", kind="number"), Column("column", "column"), Column("reason", "why"))
    table = Table(columns, pl.DataFrame([dict(each) for each in found.rejects]), title="Rows that were not quoted")
    return (first_rows(table, MOST_SHOWN, "fault", all_in=AS_JSON),)

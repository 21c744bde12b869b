"""What has to be set aside for leak-backs on work under warranty, when it will be needed, and how it moved."""

from datetime import timedelta

import polars as pl

from analytics.answers import reserving
from analytics.answers.records import Records
from analytics.answers.reserving import Reserved
from analytics.charts.quarters import quarter_dots
from analytics.contract import words
from analytics.contract.bounds import RESERVE_LEVEL, USUAL_LEVEL
from analytics.decisions.quarters import quarter_before
from analytics.decisions.reserve_moves import Move, Moves
from analytics.decisions.reserving import Reserve
from analytics.pages.page import Chart, Choice, Column, Figure, Figures, Page, Part, Said, Section, Table, Words
from analytics.pages.shortened import first_rows
from analytics.risk import Estimate

PATH, TITLE = "reserve", "Reserve"
LEVELS = (0.5, 0.8, RESERVE_LEVEL, USUAL_LEVEL)
LEVEL = Choice("level", "Interval", {f"{share:g}": words.level(share) for share in LEVELS}, f"{RESERVE_LEVEL:g}")
QUARTERS_LISTED = 12
WORKED_OUT = """
**Formula.** Every crack under warranty that has held so far: 1 - exp(-sum of its hazard over the rest of its warranty),
from the one risk model, with what was done on the day. Summed, each crack counted once. The cost is that number times
what the business's own leak-backs cost on average, at today's rates: labour, travel and material.

**Interval.** Three things are open. The hazard: its covariance, by job since cracks of one job leak together, carried
to the sum (delta method). Chance: each crack leaks or holds. The cost: each leak-back's is drawn from those the
business had, and their mean is only known so well. An interval from chance alone is far too narrow: on invented
businesses whose future is known it held six outcomes of ten instead of nine.

**A second look.** Chain ladder on the same leak-backs, by year of work and years since, with its standard error
(Mack, ASTIN Bulletin 23, 1993): it knows nothing of resin, water or crew, nor of ages past its oldest year.

**How it moved.** The earlier reserve is worked out again from the records as they stood on that day.

**Limits.** Second leak-backs of a crack are not counted. Costs stay at today's rates. One hazard holds within each band
of age (to 3, 12, 24 and 60 months, and over; the band to 60 in two, at 36, where there are enough leak-backs in both
halves). Where the true one falls within a band, more is expected than comes: on 120 invented businesses whose hazard
falls at 4, 13, 30 and 60 months instead, 1.08 times as much, and the 90 % interval held the outcome in 104.
"""


def build(records: Records, said: Said) -> Page:
    """The reserve of these records at the chosen level."""
    return card(reserving.reserve(records, level=float(LEVEL.of(said))), (LEVEL,))


def card(found: Reserved, choices: tuple[Choice, ...] = ()) -> Page:
    """A reserve as a page."""
    reserve = found.reserve
    if reserve is None:
        return Page("Nothing can be set aside by numbers yet.", choices=choices, wanting=words.sentence(found.said))
    return Page(
        answer=_answer(found, reserve),
        choices=choices,
        parts=(
            _chart(reserve),
            _figures(found, reserve),
            Section("When it will be needed", (_quarters(found, reserve),)),
            Section("By year of work", (_years(found, reserve),)),
            *((_moves(found.moved, found.currency),) if found.moved else ()),
            *(Words(note, tone="muted") for note in found.notes),
        ),
        worked_out=WORKED_OUT,
    )


def _answer(found: Reserved, reserve: Reserve) -> str:
    level = words.level(found.level)
    start = (
        f"Of {words.counted(reserve.cracks, 'crack')} under warranty that held so far, {_said(reserve.leak_backs)} are "
        f"still expected to leak back ({level} interval)"
    )
    if reserve.cost is None:
        return f"{start}."
    return f"{start}; putting them right is expected to cost {_said(reserve.cost, found.currency)}."


def _said(found: Estimate, unit: str = "") -> str:
    return words.estimate(found.value, found.low, found.high, 0, unit)


def _chart(reserve: Reserve) -> Part:
    rows = reserve.by_quarter.rename({"expected_leak_backs": "value"})
    plot = quarter_dots(rows.select("from", "value", "low", "high"), title="leak-backs expected in a quarter")
    alt = "Leak-backs expected in each coming quarter on the work under warranty today, each with its interval."
    return Chart((plot,), alt) if plot else Words("")


def _figures(found: Reserved, reserve: Reserve) -> Figures:
    costed = words.counted(found.costs, "leak-back of your own", "leak-backs of your own")
    rows = [
        Figure("leak-backs to come", *_ends(reserve.leak_backs), count=words.counted(reserve.cracks, "crack"), digits=0)
    ]
    if reserve.cost is not None:
        rows.append(Figure("their cost", *_ends(reserve.cost), count=f"from {costed}", unit=found.currency, digits=0))
    rows.append(
        Figure(
            "of them at ages nobody has seen",
            reserve.past_oldest,
            kind="percent",
            note=f"the oldest repair watched is {words.number(found.oldest_months)} months old",
        )
    )
    if found.ladder is not None:
        error = found.ladder.error
        rows.append(
            Figure(
                "a second look, by year of work alone",
                found.ladder.expected,
                digits=0,
                note=f"give or take {words.number(error)}, against {words.number(found.ladder.by_hazard)} "
                "by the risk model over the same span",
            )
        )
    return Figures(tuple(rows))


def _ends(found: Estimate) -> tuple[float, float, float]:
    return found.value, found.low, found.high


def _expected_columns(found: Reserved) -> tuple[Column, ...]:
    count = Column("expected_leak_backs", "leak-backs", kind="number", low="low", high="high", digits=1)
    cost = Column(
        "expected_cost", "cost", kind="money", unit=found.currency, low="cost_low", high="cost_high", digits=0
    )
    return (count,) if found.reserve is None or found.reserve.cost is None else (count, cost)


def _quarters(found: Reserved, reserve: Reserve) -> Table:
    columns = (Column("quarter", "quarter"), *_expected_columns(found))
    later = reserve.by_quarter.slice(QUARTERS_LISTED)
    sums = f"In those, {words.number(later['expected_leak_backs'].sum(), 1)} leak-backs." if later.height else ""
    note = f"{sums} {_begun(reserve)}".strip()
    table = Table(columns, reserve.by_quarter, title="Leak-backs expected by quarter", note=note)
    return first_rows(table, QUARTERS_LISTED, "quarter")


def _begun(reserve: Reserve) -> str:
    """That the first quarter is no whole one, where it has begun; else it looks small beside the next."""
    first = reserve.by_quarter.row(0, named=True)
    if quarter_before(first["from"]) == first["from"] - timedelta(days=1):
        return ""
    return f"{first['quarter']} is counted from {words.full_day(first['from'])} on."


def _years(found: Reserved, reserve: Reserve) -> Table:
    columns = (
        Column("year", "year of the repair"),
        Column("cracks", "held so far, under warranty", kind="number"),
        *_expected_columns(found),
    )
    return Table(columns, reserve.by_year, title="Leak-backs expected by year of work")


def _moves(moved: Moves, currency: str) -> Section:
    ends = (_row(f"set aside on {words.full_day(moved.since)}", moved.opening), _row("set aside now", moved.closing))
    rows = [ends[0], *(_row(move.reason, move) for move in moved.moves), ends[1]]
    frame = pl.DataFrame(rows, schema={"reason": pl.String, "leak_backs": pl.Float64, "cost": pl.Float64})
    money = (Column("cost", "cost", kind="money", unit=currency, digits=0),) if moved.closing.cost is not None else ()
    columns = (Column("reason", "why"), Column("leak_backs", "leak-backs", kind="number", digits=1), *money)
    return Section(
        f"How it moved since {words.full_day(moved.since)}", (Table(columns, frame, title="How the reserve moved"),)
    )


def _row(reason: str, move: Move) -> dict[str, object]:
    return {"reason": reason, "leak_backs": move.leak_backs, "cost": move.cost}

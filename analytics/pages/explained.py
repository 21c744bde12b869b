"""What raises and lowers a crack's risk, and what would change it, as parts of a page."""

import math

import polars as pl

from analytics.answers.explaining import Explained, Explanation
from analytics.contract import words
from analytics.pages.page import Caution, Column, Folded, Part, ReasonLine, Reasons, Table, Words
from analytics.risk import CAUTION

MOST_REASONS = 7


def parts(found: Explanation, crack_id: str, months: int) -> tuple[Part, ...]:
    """The parts for one crack; a quiet sentence where there is nothing to take apart."""
    one = found.cracks.get(crack_id)
    if one is None:
        return (Words(found.said, tone="muted"),) if found.said else ()
    inner: tuple[Part, ...] = (*_reasons(one), _changes(one, months, found.level), Caution(f"Each is {CAUTION}."))
    title = f"Crack {crack_id}: what raises and lowers its risk, and what would change it"
    return (Folded(title, inner, on_a_phone=True),)


def _reasons(one: Explained) -> tuple[Reasons, ...]:
    average = words.percent_estimate(one.average.value, one.average.low, one.average.high)
    said = ((True, "What raises its risk"), (False, "What lowers it"))
    return tuple(
        Reasons(f"{title}, against {average} for a crack average in everything" if raises else title, lines)
        for raises, title in said
        if (lines := _lines(one, raises=raises))
    )


def _lines(one: Explained, *, raises: bool) -> tuple[ReasonLine, ...]:
    """The reasons of one kind, the largest first; the smallest as one where there are many."""
    chosen = [reason for reason in one.reasons if (reason.multiplier > 1) == raises]
    shown = chosen if len(chosen) <= MOST_REASONS else chosen[: MOST_REASONS - 1]
    lines = [ReasonLine(reason.words, effect=_times(reason.multiplier)) for reason in shown]
    rest = chosen[len(shown) :]
    if rest:
        together = math.prod(reason.multiplier for reason in rest)
        lines.append(ReasonLine(f"{len(rest)} smaller reasons together", effect=_times(together)))
    return tuple(lines)


def _times(multiplier: float) -> str:
    return f"×{words.THIN}{words.number(multiplier, 2)}"


def _changes(one: Explained, months: int, level: float) -> Table:
    rows = one.changes.with_columns(
        chance=pl.when("beyond").then(pl.lit("beyond chance")).otherwise(pl.lit("may be chance"))
    )
    columns = (
        Column("words", "what would change it"),
        Column("risk", f"risk within {months} months", kind="percent", low="low", high="high"),
        Column("ratio", "times as fast", "number", "×", RATIO, low="ratio_low", high="ratio_high", digits=2),
        Column("chance", "how sure"),
    )
    note = words.intervals(level) if rows.height else ""
    return Table(columns, rows, "What would change the risk", note, "Nothing that is known would change it.")


RATIO = "leaks back this many times as fast as it would unchanged; under 1 is better"

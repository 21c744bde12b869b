"""How each column of a business's sheet fits each of ours, and which fits are taken."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake.days import day_codes, days
from analytics.intake.maps.clue import Clue
from analytics.intake.maps.clues import clue
from analytics.intake.maps.headings import Heading, columns_of, likeness
from analytics.intake.maps.number_clues import in_system
from analytics.intake.sheet import Mark

LEAST_LIKE = 0.5
"""A header less like a column's names is no guess."""
UNREAD = 0.5
MEASURED = r"^\d+[.,]\d+$|^\d+ \d+/\d+$|\d\s*['\"′″]|^\d{4}-\d{2}-\d{2}|^\d{1,2}/\d{1,2}/\d{2,4}$"
"""A decimal number, a fraction behind a whole number, feet or inches, a day."""
ALIKE_DAYS_SURE = 0.9


class ColumnFit(NamedTuple):
    """A column of theirs read as one of ours.

    ``evidence`` is how much it says that the sheet holds our table, whatever is in doubt of its unit or its order.
    """

    confidence: float
    table: str
    column: str
    header: str
    clue: Clue
    evidence: float


def fit_of(values: pl.Series, table: str, name: str, header: str, mark: Mark) -> ColumnFit | None:
    """How a column of theirs fits one of ours; None where it does not.

    Days and numbers of jobs by their header that cannot be read as such fit too, though never so surely that they are
    taken: it is said then why they are not.

    Args:
        values: its filled cells.
        table: our table.
        name: our column.
        header: theirs.
        mark: the sheet's decimal mark.
    """
    column = TABLES[table].columns()[name]
    heading = Heading.of(header)
    like = likeness(heading, name)
    if like < LEAST_LIKE or (isinstance(column, dy.String) and _is_measured(heading, like, column, values)):
        return None
    found = clue(values, name, column, heading, mark)
    if not found.share and not (like == 1 and (isinstance(column, dy.Date) or name == "job_id")):
        return None
    evidence = like * (0.2 + 0.8 * found.share) if found.share else UNREAD
    return ColumnFit(round(evidence * found.sure, 2), table, name, header, found, evidence)


def _is_measured(heading: Heading, like: float, column: dy.String, values: pl.Series) -> bool:
    """Whether a header only like a code's measures something, or tells a day, by its words or its values."""
    if like == 1:
        return bool(heading.unit)
    is_code = column.regex is not None and not heading.is_numbering
    return heading.is_measuring or (is_code and bool(values.str.contains(MEASURED).any()))


def without_partial(fits: Sequence[ColumnFit]) -> list[ColumnFit]:
    """The fits without those of a header that is, word for word, what another column beside it is called.

    Where the values are not that column's, the header may be like one of another kind, but no text: any value is text.
    """
    exact = {(_beside(fit.table), fit.header) for fit in fits if is_exact(fit)}
    named = {(_beside(table), header) for header in {fit.header for fit in fits} for table in _tables_naming(header)}

    def is_other(fit: ColumnFit) -> bool:
        others = named if isinstance(TABLES[fit.table].columns()[fit.column], dy.String) else exact
        return (_beside(fit.table), fit.header) in others

    return [fit for fit in fits if is_exact(fit) or not is_other(fit)]


def _tables_naming(header: str) -> list[str]:
    """The tables with a column that is called by the header, word for word."""
    heading = Heading.of(header)
    return [table for table in TABLES if any(likeness(heading, name) == 1 for name in columns_of(table))]


def _beside(table: str) -> str:
    """Jobs and their cracks stand in one sheet; any other table stands alone."""
    return "jobs" if table == "cracks" else table


def is_exact(fit: ColumnFit) -> bool:
    """Whether the header is, word for word, what our column is called."""
    return likeness(Heading.of(fit.header), fit.column) == 1


def choose(fits: Iterable[ColumnFit], tables: Sequence[str], *, apart: bool = False) -> list[ColumnFit]:
    """The surest fits: each column once, each header once (in each table where ``apart``), but for a job's number."""
    chosen: list[ColumnFit] = []
    columns: set[tuple[str, str]] = set()
    headers: set[tuple[str, str]] = set()
    for fit in sorted((fit for fit in fits if fit.table in tables), key=lambda f: -f.confidence):
        kind = fit.table if apart else ("number" if fit.column == "job_id" else "")
        if (fit.table, fit.column) in columns or ((kind, fit.header) in headers and fit.column != "job_id"):
            continue
        chosen.append(fit)
        columns.add((fit.table, fit.column))
        headers.add((kind, fit.header))
    return chosen


def settled_days(chosen: Sequence[ColumnFit], sample: Mapping[str, pl.Series]) -> list[ColumnFit]:
    """Days that could be in two orders, read in the one order that another column of the sheet leaves no doubt of."""
    sure = {fit.clue.date_format: fit.header for fit in chosen if fit.clue.date_format and not fit.clue.orders}
    if len(sure) != 1:
        return list(chosen)
    [(day_format, other)] = sure.items()

    def settled(fit: ColumnFit) -> ColumnFit:
        if not fit.clue.orders or days(sample[fit.header], day_codes(day_format)).null_count():
            return fit
        reason = f"could be in either order; read as {day_format}, as in {other}"
        found = Clue(fit.clue.share, reason, date_format=day_format, orders=fit.clue.orders)
        return fit._replace(clue=found, confidence=round(fit.confidence / fit.clue.sure * ALIKE_DAYS_SURE, 2))

    return [settled(fit) for fit in chosen]


def settled_units(chosen: Sequence[ColumnFit]) -> list[ColumnFit]:
    """Measurements usual in several units, read as the rest of the sheet measures, where that is in one way."""
    systems = {fit.clue.system for fit in chosen if fit.clue.system}
    if len(systems) != 1:
        return list(chosen)
    [system] = systems

    def settled(fit: ColumnFit) -> ColumnFit:
        found = in_system(fit.clue, system)
        return fit._replace(clue=found, confidence=round(fit.evidence * found.sure, 2))

    return [settled(fit) if fit.clue.choices else fit for fit in chosen]

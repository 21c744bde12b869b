"""A first column map, proposed from headers and values. It loads nothing: it is there to be read and mended."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake.days import day_codes, days
from analytics.intake.maps.clues import Clue, clue
from analytics.intake.maps.column_map import Origin
from analytics.intake.maps.filling import SIZES, sums_up
from analytics.intake.maps.headings import Heading, columns_of, likeness, sheet_likeness
from analytics.intake.naming import UNNAMED
from analytics.intake.numerals import settle_mark
from analytics.intake.sheet import Mark, Sheet

SAMPLE_ROWS = 400
LEAST_LIKE, LEAST_SURE = 0.5, 0.5
"""A header less like a column's names is no guess; a guess less sure than this is only written down, not made."""
LEAST_EVIDENCE, NAME_COUNTS = 0.9, 1.5
"""How much a sheet's columns and its name must say before it is taken for a table."""
LEAST_WIDE = 1.5
SHOWN_VALUES, SHOWN_LETTERS = 3, 16
GROUPED = 0.05
"""Where more of the rows than this have no job number, it stands once above the rows it is for."""
THOUSANDS_OR_NOT = r"^[1-9]\d{0,2},\d{3}$"
MEASURED = r"^\d+[.,]\d+$|^\d+ \d+/\d+$|\d\s*['\"′″]|^\d{4}-\d{2}-\d{2}|^\d{1,2}/\d{1,2}/\d{2,4}$"
"""A decimal number, a fraction behind a whole number, feet or inches, a day."""
PRIVATE = {("jobs", "site_id"), ("jobs", "crew_id")}
ALIKE_DAYS_SURE = 0.9
SHARED = {"job_id", "crack_id"}


@dataclass(frozen=True)
class Guess:
    """Where one of our columns seems to come from: how sure (0 to 1), why, and some of the values it saw."""

    table: str
    column: str
    origin: Origin
    confidence: float
    reason: str
    saw: tuple[str, ...] = ()

    @property
    def is_made(self) -> bool:
        """Whether it is sure enough to stand in the map."""
        return self.confidence >= LEAST_SURE


@dataclass(frozen=True)
class SheetProposal:
    """What one sheet seems to hold: guesses by our table, headers filled down, and the headers that are left out."""

    name: str
    guesses: tuple[Guess, ...]
    fill_down: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    mark: Mark | None = "point"

    @property
    def tables(self) -> list[str]:
        """Our tables it seems to hold."""
        return list(dict.fromkeys(guess.table for guess in self.guesses))

    @property
    def missing(self) -> list[str]:
        """Columns that must be there and for which nothing was found."""
        made = {(guess.table, guess.column) for guess in self.guesses if guess.is_made}
        needed = ((table, name) for table in self.tables for name, column in _columns(table) if not column.nullable)
        return [f"{table}.{name}" for table, name in needed if (table, name) not in made]


class _Fit(NamedTuple):
    confidence: float
    table: str
    column: str
    header: str
    clue: Clue


def propose(sheet: Sheet) -> SheetProposal:
    """What a sheet seems to hold. No guess is made of a sheet that is like none of our tables."""
    sample = {header: _filled(sheet, header) for header in sheet.headers}
    mark = settle_mark(sample.values())
    fits = [
        fit
        for table in TABLES
        for name, column in _columns(table)
        for header in sheet.headers
        if not UNNAMED.match(header) and (fit := _fit(sample[header], table, name, column, header, mark))
    ]
    fits = _without_partial(fits)
    tables = _tables(sheet, fits)
    chosen = _settled_days(_choose(fits, tables), sample)
    guesses = [_guess(fit, sample[fit.header]) for fit in chosen]
    guesses += _made_up(sheet, tables, {(fit.table, fit.column): fit.header for fit in chosen})
    order = {(table, name): place for place, (table, name) in enumerate((t, n) for t in TABLES for n in columns_of(t))}
    guesses.sort(key=lambda guess: order[guess.table, guess.column])
    used = {header for guess in guesses for header in guess.origin.headers}
    left = tuple(header for header in sheet.headers if header not in used and not UNNAMED.match(header))
    unsure = mark == "point" and any(values.str.contains(THOUSANDS_OR_NOT).any() for values in sample.values())
    return SheetProposal(sheet.names[0], tuple(guesses), _fill_down(sheet, chosen), left, None if unsure else mark)


def _columns(table: str) -> Iterable[tuple[str, dy.Column]]:
    return TABLES[table].columns().items()


def _filled(sheet: Sheet, header: str) -> pl.Series:
    """The filled cells of a column, without the few that a spreadsheet has turned into days."""
    cells = sheet.cells[header].head(SAMPLE_ROWS).str.strip_chars()
    filled = cells != ""
    if header in sheet.days:
        turned = sheet.days[header].head(SAMPLE_ROWS)
        filled = filled & ~turned if turned.sum() * 2 < filled.sum() else filled
    return cells.filter(filled)


def _fit(values: pl.Series, table: str, name: str, column: dy.Column, header: str, mark: Mark) -> _Fit | None:
    heading = Heading.of(header)
    like = likeness(heading, name)
    if like < LEAST_LIKE or (isinstance(column, dy.String) and _is_measured(heading, like, column, values)):
        return None
    found = clue(values, name, column, heading, mark)
    confidence = like * (0.2 + 0.8 * found.share) * found.sure
    return _Fit(round(confidence, 2), table, name, header, found) if found.share else None


def _is_measured(heading: Heading, like: float, column: dy.String, values: pl.Series) -> bool:
    """Whether a header only like a code's measures something, or tells a day, by its words or its values."""
    if like == 1:
        return bool(heading.unit)
    is_code = column.regex is not None and not heading.is_numbering
    return heading.is_measuring or (is_code and bool(values.str.contains(MEASURED).any()))


def _without_partial(fits: Sequence[_Fit]) -> list[_Fit]:
    """The fits without those of a header that is, word for word, what another column beside it is called.

    Where the values are not that column's, the header may be like one of another kind, but no text: any value is text.
    """
    exact = {(_beside(fit.table), fit.header) for fit in fits if _is_exact(fit)}
    named = {(_beside(table), header) for header in {fit.header for fit in fits} for table in _tables_naming(header)}

    def is_other(fit: _Fit) -> bool:
        others = named if isinstance(TABLES[fit.table].columns()[fit.column], dy.String) else exact
        return (_beside(fit.table), fit.header) in others

    return [fit for fit in fits if _is_exact(fit) or not is_other(fit)]


def _tables_naming(header: str) -> list[str]:
    """The tables with a column that is called by the header, word for word."""
    heading = Heading.of(header)
    return [table for table in TABLES if any(likeness(heading, name) == 1 for name in columns_of(table))]


def _beside(table: str) -> str:
    """Jobs and their cracks stand in one sheet; any other table stands alone."""
    return "jobs" if table == "cracks" else table


def _is_exact(fit: _Fit) -> bool:
    return likeness(Heading.of(fit.header), fit.column) == 1


def _tables(sheet: Sheet, fits: Sequence[_Fit]) -> list[str]:
    """The tables a sheet seems to hold: the one its columns and its name say most of, and jobs with their cracks."""
    evidence = dict.fromkeys(TABLES, 0.0)
    for fit in _choose(fits, list(TABLES), apart=True):
        evidence[fit.table] += 0.0 if fit.column in SHARED else fit.confidence
    named = {table: evidence[table] + NAME_COUNTS * sheet_likeness(sheet.names, table) for table in TABLES}
    best = max(named, key=lambda table: named[table])
    if named[best] < LEAST_EVIDENCE:
        return []
    other = {"jobs": "cracks", "cracks": "jobs"}.get(best)
    both = other is not None and evidence[other] >= LEAST_WIDE
    return [table for table in TABLES if table == best or (both and table == other)]


def _choose(fits: Iterable[_Fit], tables: Sequence[str], *, apart: bool = False) -> list[_Fit]:
    """The surest fits: each column once, each header once (in each table where ``apart``), but for a job's number."""
    chosen: list[_Fit] = []
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


def _settled_days(chosen: Sequence[_Fit], sample: Mapping[str, pl.Series]) -> list[_Fit]:
    """Days that could be in two orders, read in the one order that another column of the sheet leaves no doubt of."""
    sure = {fit.clue.date_format: fit.header for fit in chosen if fit.clue.date_format}
    if len(sure) != 1:
        return list(chosen)
    [(day_format, other)] = sure.items()

    def settled(fit: _Fit) -> _Fit:
        if not fit.clue.is_either or days(sample[fit.header], day_codes(day_format)).null_count():
            return fit
        found = Clue(fit.clue.share, f"{day_format}, as in {other}", date_format=day_format)
        return fit._replace(clue=found, confidence=round(fit.confidence / fit.clue.sure * ALIKE_DAYS_SURE, 2))

    return [settled(fit) for fit in chosen]


def _guess(fit: _Fit, values: pl.Series) -> Guess:
    origin = Origin(header=fit.header, unit=fit.clue.unit, date_format=fit.clue.date_format, words=fit.clue.words)
    saw = () if (fit.table, fit.column) in PRIVATE else _shown(values)
    return Guess(fit.table, fit.column, origin, fit.confidence, f"{_called(fit)}; {fit.clue.reason}", saw)


def _called(fit: _Fit) -> str:
    return "its header" if _is_exact(fit) else "much like its header"


def _shown(values: pl.Series) -> tuple[str, ...]:
    said = values.unique(maintain_order=True).head(SHOWN_VALUES).to_list()
    return tuple(value if len(value) <= SHOWN_LETTERS else f"{value[:SHOWN_LETTERS]}…" for value in said)


def _made_up(sheet: Sheet, tables: Sequence[str], headers: Mapping[tuple[str, str], str]) -> list[Guess]:
    """Columns that must be there and that no header gives: a crack's number within its job, the state of a job."""
    found = []
    job = headers.get(("cracks", "job_id"))
    crack = headers.get(("cracks", "crack_id"))
    if "cracks" in tables and job and not crack:
        origin = Origin(template=f"{{{job}}}-{{#}}")
        found.append(Guess("cracks", "crack_id", origin, 0.6, "no header numbers the cracks: counted within each job"))
    if "jobs" in tables and ("jobs", "job_id") in headers and ("jobs", "status") not in headers:
        done = headers.get(("jobs", "done_on"))
        state = "done" if done and (sheet.cells[done].str.strip_chars() != "").any() else "planned"
        reason = f"no header says where a job stands: every row taken as {state}"
        found.append(Guess("jobs", "status", Origin(constant=state), 0.6, reason))
    return found


def _fill_down(sheet: Sheet, chosen: Sequence[_Fit]) -> tuple[str, ...]:
    """The headers of a job's own facts, where they stand once above the rows they are for."""
    job = next((fit.header for fit in chosen if fit.column == "job_id"), None)
    if job is None or not sheet.cells.height:
        return ()
    facts = dict.fromkeys(fit.header for fit in chosen if fit.table == "jobs" and fit.header != job)
    sizes = [fit.header for fit in chosen if fit.table == "cracks" and fit.column in SIZES]
    empty = {header: sheet.cells[header].str.strip_chars() == "" for header in sheet.headers}
    whole = ~pl.select(pl.all_horizontal(list(empty.values()))).to_series() & ~sums_up(sheet, [job, *facts], sizes)
    again = (empty[job] | (sheet.cells[job] == sheet.cells[job].shift())).fill_null(value=False) & whole
    if again.sum() < GROUPED * len(again):
        return ()
    once = [header for header in facts if empty[header].filter(again).all() and not empty[header].all()]
    return (job, *once) if once or (empty[job] & whole).any() else ()

"""A first column map, proposed from headers and values. It loads nothing: it is there to be read and mended."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import dataframely as dy
import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake.known import SIZES
from analytics.intake.maps.column_map import Origin
from analytics.intake.maps.day_clues import CHOOSE
from analytics.intake.maps.filling import sums_up
from analytics.intake.maps.fitting import (
    ColumnFit,
    choose,
    fit_of,
    is_exact,
    settled_days,
    settled_units,
    without_partial,
)
from analytics.intake.maps.headings import columns_of, sheet_likeness
from analytics.intake.naming import UNNAMED
from analytics.intake.numerals import settle_mark
from analytics.intake.sheet import Mark, Sheet

FIRST_ROWS, LATER_ROWS = 200, 200
"""What a column is judged by: its first rows, and as many of the later ones, by chance but always the same."""
LEAST_SURE = 0.5
"""A guess less sure than this is only written down, not made."""
LEAST_EVIDENCE, NAME_COUNTS = 0.9, 1.5
"""How much a sheet's columns and its name must say before it is taken for a table."""
LEAST_WIDE = 1.5
SHOWN_VALUES, SHOWN_LETTERS, MIDNIGHT = 3, 16, " 00:00:00"
GROUPED = 0.05
"""Where more of the rows than this have no job number, it stands once above the rows it is for."""
MOST_JOBS = 0.5
"""Where more of the jobs than this have a crack's number that another has too, each counts its own cracks."""
THOUSANDS_OR_NOT, AMOUNT_OR_NOT = r"^[1-9]\d{0,2},\d{3}$", r"^[1-9]\d{0,2}\.\d{3}\b"
AMOUNTS = {name for table in TABLES.values() for name, c in table.columns().items() if isinstance(c, dy.Decimal)}
COUNTED = (
    "no header numbers the cracks: counted within each job, so a later file that repeats a job must bring all of its "
    "cracks, in the same order"
)
COUNTS_AGAIN = "its numbers begin again in each job, so the job's number stands before it"
PRIVATE = {("jobs", "site_id"), ("jobs", "crew_id")}
SHARED = {"job_id", "crack_id"}


@dataclass(frozen=True)
class Guess:
    """Where one of our columns seems to come from: how sure (0 to 1), why, and some of the values it saw.

    ``unsaid`` says what somebody must say before it can be taken; ``taken_so``, to be looked at, how days were taken
    that could be in two orders, and ``orders`` those that they could be in. Each is empty where there is no such thing.
    """

    table: str
    column: str
    origin: Origin
    confidence: float
    reason: str
    saw: tuple[str, ...] = ()
    unsaid: str = ""
    taken_so: str = ""
    orders: tuple[str, ...] = ()

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
    has_rows: bool = True

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


def propose(sheet: Sheet) -> SheetProposal:
    """What a sheet seems to hold. No guess is made of a sheet that is like none of our tables."""
    sample = {header: _filled(sheet, header) for header in sheet.headers}
    mark = settle_mark(sample.values())
    fits = [
        fit
        for table in TABLES
        for name in columns_of(table)
        for header in sheet.headers
        if not UNNAMED.match(header) and (fit := fit_of(sample[header], table, name, header, mark))
    ]
    fits = without_partial(fits)
    tables = _tables(sheet, fits)
    chosen = settled_units(settled_days(choose(fits, tables), sample))
    headers = {(fit.table, fit.column): fit.header for fit in chosen}
    guesses = [_of_job(_guess(fit, sample[fit.header]), sheet, headers) for fit in chosen]
    guesses += _made_up(sheet, tables, headers)
    order = {(table, name): place for place, (table, name) in enumerate((t, n) for t in TABLES for n in columns_of(t))}
    guesses.sort(key=lambda guess: order[guess.table, guess.column])
    used = {header for guess in guesses for header in guess.origin.headers}
    left = tuple(header for header in sheet.headers if header not in used and not UNNAMED.match(header))
    unsure = mark == "point" and (
        any(values.str.contains(THOUSANDS_OR_NOT).any() for values in sample.values())
        or any(sample[fit.header].str.contains(AMOUNT_OR_NOT).any() for fit in chosen if fit.column in AMOUNTS)
    )
    down = _fill_down(sheet, chosen)
    has_rows = sheet.cells.height > 0
    return SheetProposal(sheet.names[0], tuple(guesses), down, left, None if unsure else mark, has_rows)


def _columns(table: str) -> Iterable[tuple[str, dy.Column]]:
    return TABLES[table].columns().items()


def _filled(sheet: Sheet, header: str) -> pl.Series:
    """The filled cells of a column, without the few that a spreadsheet has turned into days."""
    cells = _some(sheet.cells[header]).str.strip_chars()
    filled = cells != ""
    if header in sheet.days:
        turned = _some(sheet.days[header])
        filled = filled & ~turned if turned.sum() * 2 < filled.sum() else filled
    return cells.filter(filled)


def _some(column: pl.Series) -> pl.Series:
    """The first rows of a column and some of the later ones, in their order; the same rows of every column."""
    later = pl.int_range(FIRST_ROWS, max(len(column), FIRST_ROWS), eager=True)
    some = later.sample(min(len(later), LATER_ROWS), seed=0).sort()
    return pl.concat([column.head(FIRST_ROWS), column.gather(some)])


def _tables(sheet: Sheet, fits: Sequence[ColumnFit]) -> list[str]:
    """The tables a sheet seems to hold: the one its columns and its name say most of, and jobs with their cracks."""
    evidence = dict.fromkeys(TABLES, 0.0)
    for fit in choose(fits, list(TABLES), apart=True):
        evidence[fit.table] += 0.0 if fit.column in SHARED else fit.evidence
    named = {table: evidence[table] + NAME_COUNTS * sheet_likeness(sheet.names, table) for table in TABLES}
    best = max(named, key=lambda table: named[table])
    if named[best] < LEAST_EVIDENCE:
        return []
    other = {"jobs": "cracks", "cracks": "jobs"}.get(best)
    both = other is not None and evidence[other] >= LEAST_WIDE
    return [table for table in TABLES if table == best or (both and table == other)]


def _guess(fit: ColumnFit, values: pl.Series) -> Guess:
    origin = Origin(header=fit.header, unit=fit.clue.unit, date_format=fit.clue.date_format, words=fit.clue.words)
    saw = () if (fit.table, fit.column) in PRIVATE else _shown(values)
    unsaid = fit.clue.reason if fit.clue.sure < LEAST_SURE <= fit.evidence else ""
    taken_so = fit.clue.reason if fit.clue.orders and not unsaid else ""
    reason = f"{_called(fit)}; {fit.clue.reason}"
    return Guess(fit.table, fit.column, origin, fit.confidence, reason, saw, unsaid, taken_so, fit.clue.orders)


def _of_job(guess: Guess, sheet: Sheet, headers: Mapping[tuple[str, str], str]) -> Guess:
    """A guess of a crack's number with the job's number before it, where each job counts its own cracks."""
    job, crack = headers.get((guess.table, "job_id")), guess.origin.header
    if guess.column != "crack_id" or not job or not crack or not _counts_again(sheet, job, crack):
        return guess
    return _by_both(guess, job, crack)


def numbered_alike(proposals: Sequence[SheetProposal]) -> list[SheetProposal]:
    """The proposals for one source: where its cracks are known by both numbers, those that calls name are too."""
    guesses = [guess for proposal in proposals for guess in proposal.guesses]
    if not any(guess.column == "crack_id" and guess.reason == COUNTS_AGAIN for guess in guesses):
        return list(proposals)
    return [
        replace(proposal, guesses=tuple(_of_call(guess, proposal) for guess in proposal.guesses))
        for proposal in proposals
    ]


def ordered_alike(proposals: Sequence[SheetProposal]) -> list[SheetProposal]:
    """The proposals for one source: where all other days of it are in one order, days in doubt are proposed in that.

    It is not taken so: another file may come from somebody else.
    """
    guesses = [guess for proposal in proposals for guess in proposal.guesses if guess.origin.date_format]
    sure = {guess.origin.date_format for guess in guesses if guess.is_made and not guess.taken_so}
    if len(sure) != 1:
        return list(proposals)
    [order] = sure
    return [
        replace(proposal, guesses=tuple(_likelier(guess, order) for guess in proposal.guesses))
        for proposal in proposals
    ]


def _likelier(guess: Guess, order: str) -> Guess:
    if not guess.unsaid or order not in guess.orders:
        return guess
    said = f"{guess.unsaid.removesuffix(CHOOSE)}; the other days of these files are {order}, so it is likely"
    origin = guess.origin.model_copy(update={"date_format": order})
    return replace(guess, origin=origin, unsaid=said, reason=guess.reason.replace(guess.unsaid, said))


def _of_call(guess: Guess, proposal: SheetProposal) -> Guess:
    job = next((g.origin.header for g in proposal.guesses if (g.table, g.column) == ("callbacks", "job_id")), None)
    if (guess.table, guess.column) != ("callbacks", "crack_id") or not job or not guess.origin.header:
        return guess
    return _by_both(guess, job, guess.origin.header)


def _by_both(guess: Guess, job: str, crack: str) -> Guess:
    return replace(guess, origin=Origin(template=f"{{{job}}}-{{{crack}}}"), reason=COUNTS_AGAIN)


def _counts_again(sheet: Sheet, job: str, crack: str) -> bool:
    """Whether most jobs have a crack's number that another job has; a job's may stand once above its rows."""
    texts = sheet.cells.select(job=pl.col(job).str.strip_chars(), crack=pl.col(crack).str.strip_chars())
    texts = texts.with_columns(pl.when(pl.col("job") != "").then("job").forward_fill())
    pairs = texts.filter(pl.col("crack") != "").drop_nulls().unique()
    shared = pairs.filter(pl.col("crack").is_duplicated())
    return shared["job"].n_unique() > MOST_JOBS * pairs["job"].n_unique()


def _called(fit: ColumnFit) -> str:
    return "its header" if is_exact(fit) else "much like its header"


def _shown(values: pl.Series) -> tuple[str, ...]:
    said = values.str.strip_suffix(MIDNIGHT).unique(maintain_order=True).head(SHOWN_VALUES).to_list()
    return tuple(value if len(value) <= SHOWN_LETTERS else f"{value[:SHOWN_LETTERS]}…" for value in said)


def _made_up(sheet: Sheet, tables: Sequence[str], headers: Mapping[tuple[str, str], str]) -> list[Guess]:
    """Columns that must be there and that no header gives: a crack's number within its job, the state of a job."""
    found = []
    job = headers.get(("cracks", "job_id"))
    crack = headers.get(("cracks", "crack_id"))
    if "cracks" in tables and job and not crack:
        origin = Origin(template=f"{{{job}}}-{{#}}")
        found.append(Guess("cracks", "crack_id", origin, 0.6, COUNTED))
    if "jobs" in tables and ("jobs", "job_id") in headers and ("jobs", "status") not in headers:
        done = headers.get(("jobs", "done_on"))
        state = "done" if done and (sheet.cells[done].str.strip_chars() != "").any() else "planned"
        reason = f"no header says where a job stands: every row taken as {state}"
        found.append(Guess("jobs", "status", Origin(constant=state), 0.6, reason))
    return found


def _fill_down(sheet: Sheet, chosen: Sequence[ColumnFit]) -> tuple[str, ...]:
    """The headers of a job's own facts, where they stand once above the rows they are for."""
    job = next((fit.header for fit in chosen if fit.column == "job_id"), None)
    if job is None or not sheet.cells.height:
        return ()
    facts = dict.fromkeys(fit.header for fit in chosen if fit.table == "jobs" and fit.header != job)
    sizes = [fit.header for fit in chosen if fit.table == "cracks" and fit.column in SIZES]
    empty = {header: sheet.cells[header].str.strip_chars() == "" for header in sheet.headers}
    sums = sums_up(sheet, job, [job, *facts], sizes)
    whole = ~pl.select(pl.all_horizontal(list(empty.values()))).to_series() & sums.is_null()
    again = (empty[job] | (sheet.cells[job] == sheet.cells[job].shift())).fill_null(value=False) & whole
    if again.sum() < GROUPED * len(again):
        return ()
    once = [header for header in facts if empty[header].filter(again).all() and not empty[header].all()]
    return (job, *once) if once or (empty[job] & whole).any() else ()

"""Whether a store holds what was written to it: its tables, keys, references, sums, ledger and audit trail."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import duckdb

from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.store import auditing, followed
from analytics.store.auditing import TrailEntry
from analytics.store.database import Store
from analytics.store.engine import first_line
from analytics.store.ledger import ledger
from analytics.store.schema import VERSION, store_sql
from analytics.store.summing import NAMED, SHORT, rows_sum_sql
from analytics.store.told import told

REFERENCES = (
    ("cracks", "job_id", "jobs"),
    ("callbacks", "job_id", "jobs"),
    ("callbacks", "crack_id", "cracks"),
    ("reviews", "crack_id", "cracks"),
)
SHAPE_SQL = (
    "select table_name, column_name, data_type from information_schema.columns "
    f"where not starts_with(table_name, '{followed.PREFIX}') order by 1, 2"
)
VIEWS_SQL = "select view_name, sql from duckdb_views() where not internal order by 1"

Books = dict[int, dict[str, Any] | None]
Trail = Sequence[tuple[TrailEntry, dict[str, Any] | None]]
"""Entries with what each tells."""


@dataclass(frozen=True)
class Fault:
    """Something that does not hold: in which part of the store, and what, in words."""

    part: str
    said: str


@dataclass(frozen=True)
class Checked:
    """What a check found. ``rows`` counts the rows in force; ``head`` is the audit trail's last hash."""

    faults: tuple[Fault, ...]
    version: int | None = None
    loads: int = 0
    rows: dict[str, int] = field(default_factory=dict)
    entries: int = 0
    head: str = auditing.START

    @property
    def is_sound(self) -> bool:
        """Whether everything held."""
        return not self.faults


def check(store: Store) -> Checked:
    """Read the whole store and hold it against its own books; never raises for what it finds."""
    try:
        with store.reading():
            version = store.version()
            if version != VERSION:
                said = f"version {version}; this program checks version {VERSION}"
                return Checked((Fault("version", said),), version)
            with store.connect() as connection:
                return _checked(connection)
    except LeakbackError as error:
        return Checked((Fault("file", str(error)),))
    except duckdb.Error as error:
        return Checked((Fault("tables", f"a table or column of the store is missing ({first_line(error)})"),))


def _checked(connection: duckdb.DuckDBPyConnection) -> Checked:
    entries = auditing.entries(connection)
    trail = [(entry, told(entry.what, entry.details)) for entry in entries]
    batches = [batch for (batch,) in connection.execute("select batch from loads order by batch").fetchall()]
    faults = [
        *_shape(connection),
        *(fault for name in TABLES for fault in _keys(connection, name)),
        *(fault for reference in REFERENCES for fault in _reference(connection, *reference)),
        *(fault for name in TABLES for fault in _rows(connection, name)),
        *_loads(connection, batches, _books(trail)),
        *_followed(connection),
        *_models(connection, trail),
        *_unreadable(trail),
        *(Fault("audit", said) for said in auditing.broken_links(entries)),
    ]
    rows = {name: connection.execute(f"select count(*) from {name}").fetchall()[0][0] for name in TABLES}
    head = entries[-1].hash if entries else auditing.START
    return Checked(tuple(faults), VERSION, len(batches), rows, len(entries), head)


def _shape(connection: duckdb.DuckDBPyConnection) -> Iterator[Fault]:
    """Tables, columns, types and views as declared."""
    for query, wanted in _declared_shape().items():
        found = set(connection.execute(query).fetchall())
        for row in sorted(wanted ^ found):
            state = "missing or changed" if row in wanted else "not one of ours"
            yield Fault("tables", f"{row[0]} {row[1]}: {state}")


@cache
def _declared_shape() -> Mapping[str, frozenset[tuple[Any, ...]]]:
    with duckdb.connect(":memory:") as fresh:
        fresh.execute(store_sql())
        return {query: frozenset(fresh.execute(query).fetchall()) for query in (SHAPE_SQL, VIEWS_SQL)}


def _keys(connection: duckdb.DuckDBPyConnection, name: str) -> Iterator[Fault]:
    keys = ", ".join(TABLES[name].primary_key())
    twice = f"select {keys} from {name} group by {keys} having count(*) > 1"
    if found := _count(connection, twice):
        yield Fault("keys", f"{found} keys of {name} are there twice")


def _reference(connection: duckdb.DuckDBPyConnection, name: str, column: str, other: str) -> Iterator[Fault]:
    key = TABLES[other].primary_key()[0]
    dangling = f"select 1 from {name} n anti join {other} o on n.{column} = o.{key} where n.{column} is not null"
    if found := _count(connection, dangling):
        yield Fault("references", f"{found} rows of {name} name a {column} that is not in {other}")


def _rows(connection: duckdb.DuckDBPyConnection, name: str) -> Iterator[Fault]:
    """Counts and sums of a table's rows against the ledger, by the load that brought and the one that replaced them."""
    wanted = connection.execute(
        "select batch, loaded, brought_sum, replaced, replaced_sum, form from load_tables left join load_sums "
        "using (batch, table_name) where table_name = ?",
        [name],
    ).fetchall()
    for batch in sorted(batch for batch, *_, form in wanted if form not in {NAMED, SHORT}):
        yield Fault("ledger", f"load {batch} does not say how its rows of {name} were summed")
    brought = {batch: (count, total) for batch, count, total, _, _, _ in wanted if count}
    replaced = {batch: (count, total) for batch, _, _, count, total, _ in wanted if count}
    for column, books in (("loaded_in", brought), ("replaced_in", replaced)):
        found = _found(connection, name, column)
        for batch in sorted(found.keys() | books.keys()):
            (count, _), (expected, _) = found.get(batch, (0, 0)), books.get(batch, (0, 0))
            verb = "brought" if column == "loaded_in" else "replaced"
            if count != expected:
                yield Fault("ledger", f"load {batch} {verb} {expected} rows of {name}; {count} are there")
            elif found[batch] != books[batch]:
                yield Fault("sums", f"rows of {name} that load {batch} {verb} are not as they were written")


def _found(connection: duckdb.DuckDBPyConnection, name: str, column: str) -> dict[int, tuple[int, int]]:
    """How many rows of a table are there by load, and their sum in the form in which the load's was written down."""
    named = f"(select batch from load_sums where table_name = '{name}' and form = {NAMED})"
    found: dict[int, tuple[int, int]] = {}
    for form, is_so in ((NAMED, f"{column} in {named}"), (SHORT, f"{column} is not null and {column} not in {named}")):
        query = f"select {column}, count(*), {rows_sum_sql(name, form)} from {name}_rows where {is_so} group by 1"
        found |= {batch: (count, total) for batch, count, total in connection.execute(query).fetchall()}
    return found


def _unreadable(trail: Trail) -> Iterator[Fault]:
    for entry, details in trail:
        if details is None:
            yield Fault("audit", f"what entry {entry.number} of the audit trail ({entry.what}) tells cannot be read")


def _books(trail: Trail) -> Books:
    """The loads that must be there, with their ledgers, by the audit trail; None for one that cannot be read."""
    books: Books = {}
    for entry, details in trail:
        if entry.what == "load" and entry.load is not None:
            books[entry.load] = details
        elif entry.what == "undo" and entry.load is not None:
            books.pop(entry.load, None)
        elif entry.what == "upgrade" and details is not None:
            books = {int(batch): kept for batch, kept in details["loads"].items()}
    return books


def _loads(connection: duckdb.DuckDBPyConnection, batches: Sequence[int], books: Books) -> Iterator[Fault]:
    """Every load's ledger against the audit trail."""
    for batch in sorted(books.keys() - set(batches)):
        yield Fault("ledger", f"load {batch} is in the audit trail and not in the store")
    for batch in batches:
        if batch not in books:
            yield Fault("ledger", f"load {batch} is in the store and not in the audit trail")
        elif (kept := books[batch]) is not None and not ledger(connection, batch).items() <= kept.items():
            yield Fault("ledger", f"what load {batch} wrote down about itself was changed")
    uneven = 'select 1 from load_tables where "read" <> loaded + unchanged + rejected'
    if _count(connection, uneven):
        yield Fault("ledger", "a load read more or fewer rows than it loaded, left and rejected")


def _followed(connection: duckdb.DuckDBPyConnection) -> Iterator[Fault]:
    """What the records answer of how each crack held, where it is laid ready, against the records."""
    if followed.differs(connection):
        yield Fault("follow-up", "how cracks held, laid ready for questions, is not what the records answer")


def _models(connection: duckdb.DuckDBPyConnection, trail: Trail) -> Iterator[Fault]:
    readable = [(entry.what, details) for entry, details in trail if details is not None]
    fitted = [details["model_sha256"] for what, details in readable if what == "fit"]
    held = [sha256 for what, details in readable if what == "upgrade" for sha256 in details["models"]]
    for number, sha256 in connection.execute("select model, sha256(document) from models order by model").fetchall():
        if sha256 not in fitted + held:
            yield Fault("models", f"risk model {number} is not the one that was fitted")


def _count(connection: duckdb.DuckDBPyConnection, query: str) -> int:
    [(found,)] = connection.execute(f"select count(*) from ({query})").fetchall()
    return int(found)

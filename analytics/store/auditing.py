"""The audit trail: who changed what, when. Entries are only ever added, each sealed by a hash over the one before.

An entry that was edited or removed breaks the chain. Whoever rewrites the whole chain from there on is not found
by it: keep the last hash elsewhere (``leakback history`` says it).
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

import duckdb

from analytics.store.told import told

START = "0" * 64
"""What the first entry follows."""
NO_CHANGE_OF_RECORDS = ("fit", "policy", "scenario")
"""What leaves the records as they are; every other entry begins a new state of them."""
ENTRIES_SQL = "select number, acted_at, what, load, by_whom, details, previous, hash from audit order by number"
STATE_SQL = (
    f"select hash from audit where what not in {NO_CHANGE_OF_RECORDS!r} order by number desc limit 1"  # names above
)


@dataclass(frozen=True)
class Act:
    """Who acts, when, and under which policy. ``acted_at`` is UTC without a zone; it orders nothing.

    ``by_whom`` is the role and code of who signed in, else the account's name where the business wants names kept, else
    None; ``policy_sha256`` is None where there is no policy file.
    """

    acted_at: datetime
    by_whom: str | None = None
    policy_sha256: str | None = None


class TrailEntry(NamedTuple):
    """One line of the trail. ``load`` is the number of the load it is about; ``details`` JSON with sorted keys."""

    number: int
    acted_at: datetime
    what: str
    load: int | None
    by_whom: str | None
    details: str
    previous: str
    hash: str

    def computed_hash(self) -> str:
        """What the hash must be: SHA-256 of the other columns."""
        said = [self.number, self.acted_at.isoformat(), self.what, self.load, self.by_whom, self.details, self.previous]
        return hashlib.sha256(json.dumps(said, ensure_ascii=False).encode()).hexdigest()


def append(
    connection: duckdb.DuckDBPyConnection,
    act: Act,
    what: str,
    details: Mapping[str, Any],
    *,
    load: int | None = None,
) -> None:
    """Add an entry in the transaction of the change it tells of; a policy that changed since is told first."""
    if act.policy_sha256 != _last_policy(connection):
        _add(connection, act, "policy", {"sha256": act.policy_sha256}, None)
    _add(connection, act, what, details, load)


def next_load(connection: duckdb.DuckDBPyConnection) -> int:
    """The number of the next load; one that was taken back or restored away is never given again."""
    [(number,)] = connection.execute("select coalesce(max(load), 0) + 1 from audit").fetchall()
    return int(number)


def state(connection: duckdb.DuckDBPyConnection) -> str:
    """What names the records as they are now: it changes whenever they do."""
    found = connection.execute(STATE_SQL).fetchall()
    return str(found[0][0]) if found else START


def head(connection: duckdb.DuckDBPyConnection) -> tuple[int, str]:
    """The last entry's number and hash; nothing's in a store of a version without a trail."""
    if not connection.execute("select 1 from duckdb_tables() where table_name = 'audit'").fetchall():
        return 0, START
    found = connection.execute("select number, hash from audit order by number desc limit 1").fetchall()
    return (int(found[0][0]), str(found[0][1])) if found else (0, START)


def entries(connection: duckdb.DuckDBPyConnection) -> list[TrailEntry]:
    """The whole trail, oldest first."""
    return [TrailEntry(*row) for row in connection.execute(ENTRIES_SQL).fetchall()]


def broken_links(trail: Sequence[TrailEntry]) -> Iterator[str]:
    """What is wrong with the chain, in words; nothing where it is whole."""
    previous = START
    for place, entry in enumerate(trail, start=1):
        if entry.number != place:
            yield f"entry {place} of the audit trail is missing"
            return
        if entry.previous != previous or entry.hash != entry.computed_hash():
            yield f"entry {place} of the audit trail ({entry.what}) was changed after it was written"
            return
        previous = entry.hash


def _last_policy(connection: duckdb.DuckDBPyConnection) -> str | None:
    query = "select details from audit where what = 'policy' order by number desc limit 1"
    found = connection.execute(query).fetchall()
    last = told("policy", found[0][0]) if found else None
    return last["sha256"] if last else None  # of a trail that was changed, the policy is told anew


def _add(
    connection: duckdb.DuckDBPyConnection, act: Act, what: str, details: Mapping[str, Any], load: int | None
) -> None:
    number, previous = head(connection)
    text = json.dumps(details, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    draft = TrailEntry(number + 1, act.acted_at, what, load, act.by_whom, text, previous, "")
    row = draft._replace(hash=draft.computed_hash())
    connection.execute("insert into audit values (?, ?, ?, ?, ?, ?, ?, ?)", list(row))

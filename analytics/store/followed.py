"""The follow-up of very many cracks as a table beside the records, so that no question has to work it out again.

It is the answer of ``follow_up`` and nothing else. Its name says what it is the answer for: a state of the records, a
day, a hemisphere and that SELECT as it is now. So a table that is left behind by any of them is not read; it goes when
the next is made. The words in it are told by number, and it knows which cracks are alone in their job.
"""

from datetime import date
from hashlib import sha256
from typing import get_args

import duckdb

from analytics.contract.seasons import Hemisphere
from analytics.store import auditing
from analytics.store.composing import WORDS, compose, numbered, selects
from analytics.store.database import Store

PREFIX = "followed_"
LEAST_CRACKS = 50_000
"""Of fewer, the SELECT takes some hundredths of a second, and making the table longer than it ever saves."""


def standing(connection: duckdb.DuckDBPyConnection, state: str, as_of: date | None, hemisphere: str) -> str | None:
    """The name of the table made for this; None where there is none."""
    there = tables(connection)
    if not there or as_of is None:
        return None
    name = _name(state, as_of, hemisphere)
    return name if name in there else None


def tables(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """The names of all of them, those left behind too."""
    query = "select table_name from duckdb_tables() where starts_with(table_name, ?)"
    return [name for (name,) in connection.execute(query, [PREFIX]).fetchall()]


def pays(store: Store, brought: int | None = None) -> bool:
    """Whether there are so many cracks that the table saves something.

    After a load that ``brought`` some of them, only if that was half: otherwise load after load would make it anew, and
    the time of each grow with the store.
    """
    if brought is not None and 2 * brought < LEAST_CRACKS:
        return False  # half of enough, or not half of them: nobody need count
    with store.connect() as connection:
        [(cracks,)] = connection.execute("select count(*) from cracks").fetchall()
    return cracks >= LEAST_CRACKS and (brought is None or 2 * brought >= cracks)


def keep(store: Store, state: str, as_of: date, hemisphere: str) -> None:
    """Make the table for this, unless the records have moved on; CannotWriteError where it cannot be written."""
    with store.change() as connection:
        if auditing.state(connection) != state:
            return
        for name in tables(connection):
            if not name.startswith(_of_state(state)):  # those of this state may be read just now
                connection.execute(f"drop table {name}")
        made = f"create table if not exists {_name(state, as_of, hemisphere)} as {followed_sql()}"
        connection.execute(made, {"as_of": as_of, "hemisphere": hemisphere})


def differs(connection: duckdb.DuckDBPyConnection) -> bool:
    """Whether a table of the records as they are holds other rows than its SELECT answers."""
    state = auditing.state(connection)
    [(as_of,)] = connection.execute(selects()["as_of"]).fetchall()
    for hemisphere in get_args(Hemisphere):
        if name := standing(connection, state, as_of, hemisphere):
            held = connection.execute(_sum_sql(f"from {name}")).fetchall()
            values = {"as_of": as_of, "hemisphere": hemisphere}
            if held != connection.execute(_sum_sql(followed_sql()), values).fetchall():
                return True
    return False


def followed_sql() -> str:
    """The SELECT that fills it."""
    words = [f"cast({column} as {numbered(column)}) as {column}" for column in WORDS]
    alone = "job_id in (select job_id from cracks group by job_id having count(*) = 1) as alone"
    return f"select * replace ({', '.join([*words, alone])}) from ({compose('follow_up', [], [], {})}) as f"


def _name(state: str, as_of: date, hemisphere: str) -> str:
    meant = sha256(f"{as_of.isoformat()} {hemisphere} {followed_sql()}".encode()).hexdigest()
    return f"{_of_state(state)}{meant[:16]}"


def _of_state(state: str) -> str:
    return f"{PREFIX}{state[:16]}_"


def _sum_sql(rows: str) -> str:
    """How many rows, and a sum over them that is of this engine alone, so never kept."""
    return f"select count(*), sum(hash(one)) from ({rows}) as one"

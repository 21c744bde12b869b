"""Whole copies of a store, made by the engine.

A live store's file is never copied by hand: that would drop the engine's lock on it, and miss what is in its log.
Only where nobody else has it open, and its log is empty, is the file taken as it lies, and the copy read through.
"""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from analytics.errors import CannotWriteError
from analytics.store import engine
from analytics.store.database import Store
from analytics.store.placing import LOGS, forget, owner_only, refusals


@contextmanager
def draft_of(target: Path) -> Iterator[Path]:
    """Where to make ``target`` before it gets its name; gone afterwards unless it was put in place."""
    draft = target.with_name(f".{target.name}.part")
    forget(draft)
    try:
        yield draft
    finally:
        forget(draft)


def copy_as_it_lies(store: Store, target: Path) -> None:
    """Copy a store's file byte by byte, quicker than ``copy``, for who has the turn at the store alone.

    The engine keeps other programs out until the file is copied, and then reads every cell of the copy, which is as
    sure a test of its blocks as copying them one by one.

    Raises:
        DamagedStoreError: where a part of the store is not as it was written.
        CannotWriteError: where the target's disk takes no more.
    """
    if any(store.path.with_name(store.path.name + ending).exists() for ending in LOGS):
        copy(store.path, target)
        return
    with store.opened(read_only=True), refusals(target), owner_only():
        shutil.copyfile(store.path, target)
    try:
        with duckdb.connect(str(target), read_only=True, config=dict(engine.closed_settings())) as connection:
            _read_through(connection)
    except duckdb.Error as error:
        raise engine.damaged(store.path, engine.first_line(error)) from error


def _read_through(connection: duckdb.DuckDBPyConnection) -> None:
    """Read every cell of every table, and look a key up in every index."""
    for (name,) in connection.execute("select table_name from duckdb_tables()").fetchall():
        connection.execute(f"select bit_xor(hash(columns(*))) from {name}").fetchall()
    keyed = (
        "select table_name, constraint_column_names[1] from duckdb_constraints() where constraint_type = 'PRIMARY KEY'"
    )
    for name, key in connection.execute(keyed).fetchall():
        for (found,) in connection.execute(f"select max({key}) from {name}").fetchall():
            connection.execute(f"select * from {name} where {key} = ?", [found]).fetchall()


def copy(source: Path, target: Path) -> None:
    """Copy a store to a new file that only its owner can read, for who has the turn at the source alone.

    Raises:
        DamagedStoreError: where a part of the source is not as it was written.
        CannotWriteError: where the target's disk takes no more.
    """
    allowed = [source, target, *(path.with_name(path.name + ending) for path in (source, target) for ending in LOGS)]
    try:
        with owner_only(), duckdb.connect(":memory:", config=dict(engine.settings())) as connection:
            connection.execute("set allowed_paths = $paths", {"paths": [str(path) for path in allowed]})
            connection.execute("set enable_external_access = false")
            connection.execute("set lock_configuration = true")
            connection.execute(f"attach {_quoted(source)} as source (read_only)")
            connection.execute(f"attach {_quoted(target)} as target")
            connection.execute("copy from database source to target")
            connection.execute("detach target")
    except duckdb.Error as error:
        meaning = engine.understood(error, source)
        if meaning is error:
            raise
        raise engine.understood(error, target) if isinstance(meaning, CannotWriteError) else meaning from error


def _quoted(path: Path) -> str:
    """A path as a literal: ATTACH takes no bound value."""
    return "'" + str(path).replace("'", "''") + "'"

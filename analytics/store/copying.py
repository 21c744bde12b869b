"""Whole copies of a store, made by the engine.

A live store's file is never copied by hand: that would drop the engine's lock on it, and miss what is in its log.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from analytics.errors import CannotWriteError
from analytics.store import engine
from analytics.store.placing import LOGS, forget, owner_only


@contextmanager
def draft_of(target: Path) -> Iterator[Path]:
    """Where to make ``target`` before it gets its name; gone afterwards unless it was put in place."""
    draft = target.with_name(f".{target.name}.part")
    forget(draft)
    try:
        yield draft
    finally:
        forget(draft)


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

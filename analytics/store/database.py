"""Opening the store: short connections by turns, nothing reachable but the store's own file."""

import os
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, nullcontext
from pathlib import Path
from typing import Self

import duckdb
import polars as pl

from analytics.errors import CannotWriteError, RecordsMovedError, StoreError
from analytics.store import auditing, engine
from analytics.store.placing import forget, owner_only, put_in_place
from analytics.store.schema import VERSION, store_sql
from analytics.store.spilling import room_to_spill
from analytics.store.turns import LOG, NoTurns, Turns

_LOCAL = threading.local()
WAIT_SECONDS = 60.0
WAIT_FOR_OTHERS_SECONDS = 10.0
"""For a program that is not ours and may hold the file as long as it is open."""
RETRY_SECONDS = 0.05


class Store:
    """A store file. Every call opens and closes its own connection, so threads and programs take turns."""

    def __init__(self, path: Path, *, wait_seconds: float = WAIT_SECONDS) -> None:
        self.path = path
        self.wait_seconds = wait_seconds
        self.turns = Turns(Path(os.path.realpath(path)), wait_seconds)
        self._is_draft = False
        self._kept = threading.local()

    @classmethod
    def draft(cls, path: Path) -> "Store":
        """A store that only its maker knows of, so that nobody takes turns at it."""
        store = cls(path)
        store.turns = NoTurns(path, 0)
        store._is_draft = True
        return store

    @classmethod
    def existing(cls, path: Path) -> Self:
        """The store at ``path``; see ``require``."""
        store = cls(path)
        store.require()
        return store

    def require(self) -> None:
        """StoreError where there is no store, or where it is not one of ours or of this version."""
        path = self.path
        if path.is_dir():
            raise StoreError(f"{path} is a folder: name the store's file, such as {path / 'leakback.duckdb'}")
        if not path.is_file():
            raise StoreError(f"no store at {path}: load your files with `leakback load FOLDER --store {path}` first")
        found = self.version()
        if found > VERSION:
            raise StoreError(f"{path} is a store of version {found}; this program reads version {VERSION}: update it")
        if found < VERSION:
            raise StoreError(
                f"{path} is a store of version {found}, this program uses version {VERSION}: "
                f"`leakback upgrade --store {path}` brings it up, with a backup first"
            )

    @classmethod
    def open_or_create(cls, path: Path) -> "Store":
        """The store at ``path``, made empty where there is none: whole or, killed at any instant, not at all."""
        if path.exists():
            return cls.existing(path)
        store = cls(path)
        draft = cls.draft(path.with_name(f".{path.name}.new"))
        with store.turns.alone():
            if path.exists():
                return cls.existing(path)
            forget(draft.path)
            with draft.opened(read_only=False) as connection:
                connection.execute("begin")
                connection.execute(store_sql())
                connection.execute("insert into meta values ('schema_version', ?)", [str(VERSION)])
                connection.execute("commit")
            put_in_place(draft.path, path)
        return store

    @contextmanager
    def connect(self, *, read_only: bool = True) -> Iterator[duckdb.DuckDBPyConnection]:
        """A locked-down connection, waiting its turn for at most ``wait_seconds``.

        Readers share the turn; a writer has it alone. A thread that reads must be done before it writes.
        """
        if read_only and (kept := getattr(self._kept, "open", None)) is not None:
            if self._kept.connection is None:
                self._kept.connection = kept.enter_context(self._connected(read_only=True))
            yield self._kept.connection
            return
        with self._connected(read_only=read_only) as connection:
            yield connection

    @contextmanager
    def _connected(self, *, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
        with (
            self.turns.reading() if read_only else self._alone(),
            self.opened(read_only=read_only) as connection,
        ):
            yield connection

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Answer all this thread asks meanwhile over one connection and from one state, taken at the first question.

        Where this thread writes in between, or waits for another (``let_go``), the connection is let go and taken anew
        at the next question. A reading within another is part of it.
        """
        if getattr(self._kept, "open", None) is not None:
            yield
            return
        with ExitStack() as kept:
            self._kept.open, self._kept.connection = kept, None
            _stores_read().append(self)
            try:
                yield
            finally:
                _stores_read().remove(self)
                self._kept.open = None

    @contextmanager
    def writing(self, what: str) -> Iterator[None]:
        """Be the only writer, while others read on; ``what`` is said to who has to wait. CannotWriteError where not."""
        self._let_go()
        with self.turns.writing(what):
            yield

    @contextmanager
    def _alone(self) -> Iterator[None]:
        self._let_go()
        with self.turns.alone():
            yield

    def _let_go(self) -> None:
        """Close the connection this thread keeps; its next question opens another."""
        if (kept := getattr(self._kept, "open", None)) is not None:
            kept.close()
            self._kept.connection = None

    @contextmanager
    def change(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """One transaction, alone at the store: all of it or, killed at any instant, none of it.

        A disk that fills up once the change is safe in the engine's log does not undo it: it is done, with a notice.
        A draft is moved without its log, so there the change is not done.
        """
        with self._alone():
            before = None
            try:
                with self.opened(read_only=False) as connection:
                    before = auditing.head(connection)
                    connection.execute("begin")
                    yield connection
                    connection.execute("commit")
            except CannotWriteError:
                if before is None or self._is_draft or self._head() == before:
                    raise
                LOG.warning("the change is done, but the disk of %s is full: free some room", self.path)

    def _head(self) -> tuple[int, str]:
        with self.opened(read_only=True) as connection:
            return auditing.head(connection)

    @contextmanager
    def opened(self, *, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
        """A locked-down connection, for who has the turn already; the engine's errors as ours.

        A writer's changes are in the file itself, not only in its log, once this is left.
        """
        with nullcontext() if read_only else owner_only(), room_to_spill(self.path) as spill:
            try:
                connection = self._wait_for_others(engine.closed_settings(spill), read_only=read_only)
                try:
                    yield connection
                    if not read_only:
                        connection.execute("checkpoint")
                finally:
                    connection.close()
            except duckdb.Error as error:
                meaning = engine.understood(error, self.path)
                if meaning is error:
                    raise
                raise meaning from error

    def _wait_for_others(self, config: dict[str, str], *, read_only: bool) -> duckdb.DuckDBPyConnection:
        limit = min(self.wait_seconds, WAIT_FOR_OTHERS_SECONDS)
        give_up_at = time.monotonic() + limit
        while True:
            try:
                return duckdb.connect(str(self.path), read_only=read_only, config=dict(config))
            except (duckdb.IOException, duckdb.ConnectionException) as error:
                if not engine.is_busy(error):
                    raise
                if time.monotonic() > give_up_at:
                    raise StoreError(
                        f"{self.path} is in use by another program: {engine.holder(error)} holds it open; "
                        f"waited {limit:.0f} s: close that program or try again"
                    ) from error
                time.sleep(RETRY_SECONDS)

    def frame(
        self, sql: str, parameters: Mapping[str, object] | None = None, *, state: str | None = None
    ) -> pl.DataFrame:
        """The whole answer of one fixed SELECT as a frame.

        Given the ``state`` the records were in when the asking began, RecordsMovedError where they are not any more.
        """
        with self.connect() as connection:
            if state is not None and auditing.state(connection) != state:
                raise RecordsMovedError(self.path)
            answer: pl.DataFrame = connection.sql(sql, params=dict(parameters or {}) or None).pl()
        return answer

    def version(self) -> int:
        """The store's version; StoreError where the file is no store of ours."""
        found = self.meta("schema_version")
        if found is None or not found.isdigit():
            raise StoreError(f"{self.path} is not a leakback store: choose another --store")
        return int(found)

    def meta(self, name: str) -> str | None:
        """A fact the store keeps about itself, or None; StoreError where the file is no store of ours."""
        try:
            found = self.frame("select value from meta where name = $name", {"name": name})
        except (duckdb.CatalogException, duckdb.BinderException) as error:
            raise StoreError(f"{self.path} is not a leakback store: choose another --store") from error
        return None if found.is_empty() else str(found.item())

    def state(self) -> str:
        """What names the records as they are now: it changes whenever they do."""
        with self.connect() as connection:
            return auditing.state(connection)


def let_go() -> None:
    """Give up this thread's turns at what it is reading, until its next question.

    Called before waiting for another thread: that one may need to write, or to pass somebody who waits to write.
    """
    for store in _stores_read():
        store._let_go()  # noqa: SLF001 - the same module's own


def _stores_read() -> list[Store]:
    """The stores that this thread is reading."""
    stores: list[Store] = _LOCAL.__dict__.setdefault("stores", [])
    return stores

"""Opening the store: short connections, nothing reachable but the store's own file."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb
import polars as pl

from analytics.errors import StoreError
from analytics.store.schema import VERSION, store_sql

WAIT_SECONDS = 10.0
RETRY_SECONDS = 0.05
LOCKED_DOWN: dict[str, str | bool | int | float | list[str]] = {
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
    "lock_configuration": "true",
}


class Store:
    """A store file. Every call opens and closes its own connection, so several programs take turns."""

    def __init__(self, path: Path, *, wait_seconds: float = WAIT_SECONDS) -> None:
        self.path = path
        self.wait_seconds = wait_seconds

    @classmethod
    def existing(cls, path: Path) -> "Store":
        """The store at ``path``; StoreError where there is none or where it is not one of ours."""
        store = cls(path)
        if not path.is_file():
            raise StoreError(f"no store at {path}: load your files with `leakback load FOLDER --store {path}` first")
        found = store.meta("schema_version")
        if found != str(VERSION):
            raise StoreError(f"{path} is a store of version {found}; this program reads version {VERSION}: update it")
        return store

    @classmethod
    def open_or_create(cls, path: Path) -> "Store":
        """The store at ``path``, made empty where there is none."""
        if path.exists():
            return cls.existing(path)
        store = cls(path)
        try:
            with store.connect(read_only=False) as connection:
                connection.execute("begin")
                connection.execute(store_sql())
                connection.execute("insert into meta values ('schema_version', $version)", {"version": str(VERSION)})
                connection.execute("commit")
        except duckdb.Error as error:
            raise StoreError(f"cannot make a store at {path}: {first_line(error)}") from error
        path.chmod(0o600)
        return store

    @contextmanager
    def connect(self, *, read_only: bool = True) -> Iterator[duckdb.DuckDBPyConnection]:
        """A locked-down connection, waiting its turn for at most ``wait_seconds``."""
        connection = self._wait_for_turn(read_only=read_only)
        try:
            yield connection
        finally:
            connection.close()

    def _wait_for_turn(self, *, read_only: bool) -> duckdb.DuckDBPyConnection:
        give_up_at = time.monotonic() + self.wait_seconds
        while True:
            try:
                return duckdb.connect(str(self.path), read_only=read_only, config=LOCKED_DOWN)
            except (duckdb.IOException, duckdb.ConnectionException) as error:
                if not is_busy(error):
                    raise StoreError(f"{self.path} cannot be opened as a store: {first_line(error)}") from error
                if time.monotonic() > give_up_at:
                    raise StoreError(
                        f"{self.path} is in use by another program ({first_line(error)}); "
                        f"waited {self.wait_seconds:.0f} s: close it or try again"
                    ) from error
                time.sleep(RETRY_SECONDS)
            except duckdb.Error as error:
                raise StoreError(f"{self.path} cannot be opened as a store: {first_line(error)}") from error

    def frame(self, sql: str, parameters: dict[str, object] | None = None) -> pl.DataFrame:
        """The whole answer of one fixed SELECT as a frame."""
        with self.connect() as connection:
            answer: pl.DataFrame = connection.sql(sql, params=parameters or None).pl()
        return answer

    def meta(self, name: str) -> str | None:
        """A fact the store keeps about itself, or None; StoreError where the file is no store of ours."""
        try:
            found = self.frame("select value from meta where name = $name", {"name": name})
        except duckdb.Error as error:
            raise StoreError(f"{self.path} is not a leakback store ({first_line(error)})") from error
        return None if found.is_empty() else str(found.item())

    def rows_version(self) -> int:
        """The last load that changed a row; 0 for an empty store."""
        return int(self.frame("select coalesce(max(batch), 0)::integer v from loads where rows_changed > 0").item())


def is_busy(error: duckdb.Error) -> bool:
    """Whether another connection holds the file, so that waiting helps."""
    text = str(error)
    return "lock" in text.lower() or "different configuration" in text


def first_line(error: Exception) -> str:
    """The first line of an engine's message."""
    return str(error).splitlines()[0]

"""Whose turn it is at a store: readers together, one writer alone, across threads and programs.

Three empty files in a hidden folder beside the store are locked, never the store's own file, whose locks the
engine would lose. A lock goes with the program that holds it, so a killed program leaves none behind.

- ``writing`` is held by a writer from before it looks until it is done, so that two writers never cross.
- ``turn`` is shared by readers while they read, and held alone by a writer while it changes the file.
- ``gate`` is passed by everybody on the way to ``turn``; a writer keeps it shut, so that readers cannot starve it.
"""

import fcntl
import json
import logging
import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from analytics.errors import CannotWriteError, StoreError
from analytics.store.placing import refused

LOG = logging.getLogger("leakback.notices")
RETRY_SECONDS = 0.01
SAID_AFTER_SECONDS = 1.0
_LOCAL = threading.local()


class Turns:
    """The turns at one store; a thread may ask again for what it holds."""

    def __init__(self, store: Path, wait_seconds: float) -> None:
        self.store = store
        self.folder = store.with_name(f".{store.name}.turns")
        self.wait_seconds = wait_seconds

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Hold the turn together with other readers: no writer changes anything meanwhile.

        Where nobody ever wrote there is nothing to wait for.
        """
        if self._holds("turn") or self._holds("shared turn") or not (self.folder / "turn").exists():
            yield
            return
        give_up_at = time.monotonic() + self.wait_seconds
        with self._opened("gate", os.O_RDONLY) as gate, self._opened("turn", os.O_RDONLY) as turn:
            self._take(gate, fcntl.LOCK_SH, give_up_at)
            self._take(turn, fcntl.LOCK_SH, give_up_at)
            fcntl.flock(gate, fcntl.LOCK_UN)
            with self._holding("shared turn"):
                yield

    @contextmanager
    def writing(self, what: str) -> Iterator[None]:
        """Be the only writer; others go on reading. ``what`` is said to whoever has to wait.

        Raises:
            CannotWriteError: where the folder takes no file, or where this very thread is reading.
        """
        if self._holds("writing"):
            yield
            return
        if self._holds("shared turn"):
            raise CannotWriteError(f"{self.store} cannot be written while it is being read here")
        self._make_folder()
        with self._opened("writing", os.O_RDWR) as writing:
            self._take(writing, fcntl.LOCK_EX, time.monotonic() + self.wait_seconds)
            with suppress(OSError):  # a full disk: then nobody learns who is writing
                os.ftruncate(writing, 0)
                os.pwrite(writing, json.dumps({"what": what, "process": os.getpid()}).encode(), 0)
            with self._holding("writing"):
                yield

    @contextmanager
    def alone(self, what: str = "change") -> Iterator[None]:
        """Hold the turn alone, as the writer: nobody else reads or writes."""
        if self._holds("turn"):
            yield
            return
        with self.writing(what), self._opened("gate", os.O_RDWR) as gate, self._opened("turn", os.O_RDWR) as turn:
            give_up_at = time.monotonic() + self.wait_seconds
            self._take(gate, fcntl.LOCK_EX, give_up_at)
            self._take(turn, fcntl.LOCK_EX, give_up_at)
            with self._holding("turn"):
                yield

    def _holds(self, lock: str) -> bool:
        return (self.store, lock) in _held()

    @contextmanager
    def _holding(self, lock: str) -> Iterator[None]:
        _held().add((self.store, lock))
        try:
            yield
        finally:
            _held().discard((self.store, lock))

    def writer(self) -> str:
        """Who is writing, as ``leakback load (process 4711)``; ``another program`` where it does not say."""
        try:
            said = json.loads((self.folder / "writing").read_text(encoding="utf-8"))
            return f"leakback {said['what']} (process {said['process']})"
        except (OSError, ValueError, KeyError, TypeError):
            return "another program"

    def _make_folder(self) -> None:
        try:
            self.folder.mkdir(mode=0o700, exist_ok=True)
            for name in ("writing", "gate", "turn"):
                os.close(os.open(self.folder / name, os.O_RDWR | os.O_CREAT, 0o600))
        except OSError as error:
            raise refused(self.store, error) from error

    @contextmanager
    def _opened(self, name: str, flags: int) -> Iterator[int]:
        try:
            handle = os.open(self.folder / name, flags)
        except OSError as error:
            raise refused(self.store, error) from error
        try:
            yield handle
        finally:
            os.close(handle)

    def _take(self, handle: int, mode: int, give_up_at: float) -> None:
        say_at = time.monotonic() + SAID_AFTER_SECONDS
        while not _taken(handle, mode):
            now = time.monotonic()
            if now > give_up_at:
                raise StoreError(
                    f"{self.store} is in use by {self.writer()}; waited {self.wait_seconds:.0f} s: "
                    "try again when it is done"
                )
            if now > say_at:
                words = "waiting for %s, which is in use by %s, for at most %.0f s"
                LOG.warning(words, self.store, self.writer(), self.wait_seconds)
                say_at = give_up_at + 1
            time.sleep(RETRY_SECONDS)


class NoTurns(Turns):
    """For a draft that nobody else knows of."""

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Nothing to wait for."""
        yield

    @contextmanager
    def writing(self, what: str) -> Iterator[None]:
        """Nothing to wait for."""
        del what
        yield

    @contextmanager
    def alone(self, what: str = "change") -> Iterator[None]:
        """Nothing to wait for."""
        del what
        yield


def _taken(handle: int, mode: int) -> bool:
    try:
        fcntl.flock(handle, mode | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _held() -> set[tuple[Path, str]]:
    """What this thread holds."""
    held: set[tuple[Path, str]] = _LOCAL.__dict__.setdefault("held", set())
    return held

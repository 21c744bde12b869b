"""Linear algebra on one thread: on tables this narrow several wait for each other, many times as long."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Any

from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]


class _Holders:
    """Who holds the libraries to one thread now, and what to undo once nobody does any more."""

    def __init__(self) -> None:
        self._lock, self._count = Lock(), 0
        self._limits: list[Any] = []

    def enter(self) -> None:
        with self._lock:
            self._count += 1
            self._limits.append(ThreadpoolController().limit(limits=1))

    def leave(self) -> None:
        with self._lock:
            self._count -= 1
            while not self._count and self._limits:
                self._limits.pop().restore_original_limits()


_HOLDERS = _Holders()


@contextmanager
def one_thread() -> Iterator[None]:
    """Hold the libraries that are loaded by now to one thread; also a decorator.

    Several may hold them at a time, each in a thread of its own: the last to leave gives the threads back.
    """
    _HOLDERS.enter()
    try:
        yield
    finally:
        _HOLDERS.leave()

"""Linear algebra on one thread: on tables this narrow several wait for each other, many times as long."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]


@contextmanager
def one_thread() -> Iterator[None]:
    """Hold numpy's linear algebra to one thread; also a decorator."""
    with _libraries().limit(limits=1):
        yield


@cache
def _libraries() -> ThreadpoolController:
    return ThreadpoolController()

"""Linear algebra on one thread: on tables this narrow several wait for each other, many times as long."""

from collections.abc import Iterator
from contextlib import contextmanager

from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]


@contextmanager
def one_thread() -> Iterator[None]:
    """Hold the libraries that are loaded by now to one thread; also a decorator."""
    with ThreadpoolController().limit(limits=1):
        yield

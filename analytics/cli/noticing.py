"""Saying on standard error what a person must know while a command runs: whom it waits for, what is not backed up."""

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager

LOG = logging.getLogger("leakback.notices")


class _OnStandardError(logging.Handler):
    """Says each notice once, however often a command comes by what brings it about."""

    def __init__(self) -> None:
        super().__init__()
        self.said: set[str] = set()

    def emit(self, record: logging.LogRecord) -> None:
        notice = record.getMessage()
        if notice not in self.said:
            self.said.add(notice)
            sys.stderr.write(f"leakback: {notice}\n")  # through rich, which lifts it over a running sign of life


@contextmanager
def saying_notices() -> Iterator[None]:
    """Show the store's notices for as long as a command runs."""
    handler = _OnStandardError()
    LOG.addHandler(handler)
    try:
        yield
    finally:
        LOG.removeHandler(handler)

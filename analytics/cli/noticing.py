"""Saying on standard error what a person must know while a command runs: how far it is, whom it waits for, and more."""

import logging
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

LOG = logging.getLogger("leakback.notices")
STEPS = logging.getLogger("leakback.steps")


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


class _ToldSteps(logging.Handler):
    """Hands on each step as it begins."""

    def __init__(self, say: Callable[[str], None]) -> None:
        super().__init__()
        self.say = say

    def emit(self, record: logging.LogRecord) -> None:
        self.say(record.getMessage())


@contextmanager
def saying_steps(say: Callable[[str], None]) -> Iterator[None]:
    """Say each step as it begins, for as long as a command works.

    A step, not a bar: nobody knows a file's rows before it is read, nor how long checking them will take, and putting
    them in is one statement. A bar over the steps would stand still through the long one and jump over the others.
    """
    handler, before = _ToldSteps(say), STEPS.level
    STEPS.addHandler(handler)
    STEPS.setLevel(logging.INFO)
    try:
        yield
    finally:
        STEPS.setLevel(before)
        STEPS.removeHandler(handler)


@contextmanager
def saying_notices() -> Iterator[None]:
    """Show the store's notices for as long as a command runs."""
    handler = _OnStandardError()
    LOG.addHandler(handler)
    try:
        yield
    finally:
        LOG.removeHandler(handler)

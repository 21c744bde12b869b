"""Files with changed bytes through every reader: a batch whose rows add up, or one clear error. Nothing else.

``LEAKBACK_MUTANTS`` sets how many; few by default, so that the suite stays quick.
"""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from analytics.errors import LeakbackError
from tests.intake.brought import brought, counts
from tests.intake.mutants import mutant

MUTANTS = int(os.environ.get("LEAKBACK_MUTANTS", "300"))
BLOCKS = 10
GIVE_UP_SECONDS = 60
MOST_GROWTH_KB = 700_000
"""A page of the pool's threads and of the readers' own buffers, far under what one bomb would take."""


@contextmanager
def a_limit() -> Iterator[None]:
    """Fails where a reader hangs; no measure of its speed."""

    def stop(*_: object) -> None:
        raise TimeoutError

    if not hasattr(signal, "SIGALRM"):
        yield
        return
    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(GIVE_UP_SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def peak_kb() -> int:
    """The most memory this process has held."""
    resource = pytest.importorskip("resource")
    return int(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def read(name: str, content: bytes) -> str:
    """Nothing where the rows of the file add up, else the error's sentence."""
    try:
        batch = brought({name: content})
    except LeakbackError as error:
        return str(error)
    assert all(counts(batch, table) for table in batch.tables)
    return ""


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_changed_file_adds_up_or_is_one_clear_error(block: int) -> None:
    before = peak_kb()
    for seed in range(block, MUTANTS, BLOCKS):
        name, content = mutant(seed)
        with a_limit():
            said = read(name, content)
            assert "\n" not in said, (seed, said)
    assert peak_kb() - before < MOST_GROWTH_KB

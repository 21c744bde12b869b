"""What is one for the whole process stays as it is needed until the last who needs it has left."""

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest

from analytics.holding import until_all_left
from analytics.intake.columnar import _quiet
from analytics.store.placing import owner_only


def _crossed(block: Callable[[], AbstractContextManager[object]], state: Callable[[], object]) -> list[object]:
    """The state inside two blocks, once the first to enter has left, and once both have."""
    first, second = block(), block()
    first.__enter__()
    second.__enter__()
    seen = [state()]
    for each in (first, second):
        each.__exit__(None, None, None)
        seen.append(state())
    return seen


def test_the_last_to_leave_switches_back_whoever_entered_first() -> None:
    switched = ["before"]

    @until_all_left
    @contextmanager
    def switch() -> Iterator[None]:
        kept, switched[0] = switched[0], "inside"
        try:
            yield
        finally:
            switched[0] = kept

    for _ in range(2):
        assert _crossed(switch, lambda: switched[0]) == ["inside", "inside", "before"]


def test_who_could_not_enter_holds_nothing() -> None:
    refusals, left = [OSError("no")], []

    @until_all_left
    @contextmanager
    def switch() -> Iterator[None]:
        if refusals:
            raise refusals.pop()
        yield
        left.append(True)

    with pytest.raises(OSError, match="no"), switch():
        pass
    with switch():
        assert not left
    assert left


def test_what_is_written_to_standard_error_comes_back_after_two_readings_at_a_time() -> None:
    def where() -> tuple[int, int]:
        return os.fstat(2).st_dev, os.fstat(2).st_ino

    before, nowhere = where(), (Path(os.devnull).stat().st_dev, Path(os.devnull).stat().st_ino)
    assert before != nowhere
    assert _crossed(_quiet, where) == [nowhere, nowhere, before]


@pytest.mark.skipif(os.name != "posix", reason="no file modes here")
def test_files_are_their_owners_until_the_last_block_is_left_and_no_longer() -> None:
    def mask() -> int:
        os.umask(now := os.umask(0))
        return now

    before = os.umask(0o022)
    try:
        assert _crossed(owner_only, mask) == [0o077, 0o077, 0o022]
    finally:
        os.umask(before)

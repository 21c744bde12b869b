"""Answers of one state of the records, kept by a door that is asked again and again."""

from collections.abc import Callable, Hashable
from threading import Condition
from typing import Any, TypeVar, cast

import polars as pl
from cachetools import LRUCache, cached

from analytics.store.database import let_go
from analytics.store.engine import MEBIBYTE

Answer = TypeVar("Answer")
MOST_OF_FRAMES = 512 * MEBIBYTE
MOST_ANSWERS = 24
"""Some hold a row a crack."""


class Kept:
    """Each answer is worked out once; who asks for it meanwhile waits. The longest unused goes first."""

    def __init__(self, most_bytes: int = MOST_OF_FRAMES, most_answers: int = MOST_ANSWERS) -> None:
        self._frames = _once(LRUCache(most_bytes, getsizeof=_size))
        self._answers = _once(LRUCache(most_answers))

    def frame(self, key: Hashable, ask: Callable[[], pl.DataFrame]) -> pl.DataFrame:
        """What the store answered, or answers now."""
        return cast("pl.DataFrame", self._frames(key, ask))

    def answer(self, key: Hashable, work_out: Callable[[], Answer]) -> Answer:
        """What was worked out, or is now."""
        return cast("Answer", self._answers(key, work_out))


def _once(kept: LRUCache[Hashable, Any]) -> Callable[[Hashable, Callable[[], object]], object]:
    """Gives what is kept under a key, else what is made, which is kept where there is room for it."""

    @cached(kept, key=lambda key, _: key, condition=_Waiting())
    def given(key: Hashable, make: Callable[[], object]) -> object:
        del key
        return make()

    return given


class _Waiting(Condition):
    """Who waits here holds up nobody meanwhile."""

    def wait(self, timeout: float | None = None) -> bool:
        """Wait as ever, once this thread's turns are given up."""
        let_go()
        return super().wait(timeout)


def _size(frame: pl.DataFrame) -> int:
    return int(frame.estimated_size())

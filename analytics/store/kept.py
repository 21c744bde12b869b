"""Answers of one state of the records, kept by a door that is asked again and again."""

from collections.abc import Callable, Hashable
from threading import Lock, RLock
from typing import TypeVar, cast

import polars as pl
from cachetools import LRUCache

from analytics.store.engine import MEBIBYTE

Answer = TypeVar("Answer")
MOST_OF_FRAMES = 512 * MEBIBYTE
MOST_ANSWERS = 24
"""Some hold a row a crack."""


class Kept:
    """Each answer is worked out once; who asks for it meanwhile waits. The longest unused goes first."""

    def __init__(self, most_bytes: int = MOST_OF_FRAMES, most_answers: int = MOST_ANSWERS) -> None:
        self._frames: LRUCache[Hashable, pl.DataFrame] = LRUCache(most_bytes, getsizeof=_size)
        self._answers: LRUCache[Hashable, object] = LRUCache(most_answers)
        self._turns: dict[Hashable, RLock] = {}
        self._guard = Lock()

    def frame(self, key: Hashable, ask: Callable[[], pl.DataFrame]) -> pl.DataFrame:
        """What the store answered, or answers now."""
        return self._once(self._frames, key, ask)

    def answer(self, key: Hashable, work_out: Callable[[], Answer]) -> Answer:
        """What was worked out, or is now."""
        return cast("Answer", self._once(self._answers, key, work_out))

    def _once(self, kept: LRUCache[Hashable, Answer], key: Hashable, make: Callable[[], Answer]) -> Answer:
        with self._guard:
            turn = self._turns.setdefault(key, RLock())
        with turn:
            with self._guard:
                if key in kept:
                    return kept[key]
            found = make()
            with self._guard:
                if kept.getsizeof(found) <= kept.maxsize:
                    kept[key] = found
            return found


def _size(frame: pl.DataFrame) -> int:
    return int(frame.estimated_size())

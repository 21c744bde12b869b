"""A store that remembers its answers, for who asks the same records again and again: the dashboard."""

from collections.abc import Mapping
from pathlib import Path
from threading import Lock

import polars as pl
from cachetools import LRUCache, cachedmethod
from cachetools.keys import hashkey

from analytics.store.database import WAIT_SECONDS, Store

MOST_BYTES = 64 * 2**20
"""The answers remembered; one that is larger by itself is asked for each time."""


class RememberingStore(Store):
    """Gives an answer from memory where it was asked of the records in the same state before."""

    def __init__(self, path: Path, *, wait_seconds: float = WAIT_SECONDS) -> None:
        super().__init__(path, wait_seconds=wait_seconds)
        self.answers: LRUCache[object, pl.DataFrame] = LRUCache(MOST_BYTES, pl.DataFrame.estimated_size)
        self.turn = Lock()

    def frame(
        self, sql: str, parameters: Mapping[str, object] | None = None, *, state: str | None = None
    ) -> pl.DataFrame:
        """As a store's; only what is asked of a known ``state`` is remembered."""
        if state is None:
            return super().frame(sql, parameters)
        return self._remembered(sql, parameters or {}, state)

    @cachedmethod(
        lambda store: store.answers,
        key=lambda _, sql, parameters, state: hashkey(sql, repr(sorted(parameters.items())), state),
        lock=lambda store: store.turn,
    )
    def _remembered(self, sql: str, parameters: Mapping[str, object], state: str) -> pl.DataFrame:
        return super().frame(sql, parameters, state=state)

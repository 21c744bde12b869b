"""Some of very many rows that stand for all."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analytics.stats.slices import slices


class Sample(NamedTuple):
    """Rows that stand for all of their kind: their ``places`` (m) in a frame, those of a kind together.

    ``kinds`` (m): the number of each one's kind; ``weights`` (m): how many rows it stands for.
    """

    places: NDArray[np.int64]
    kinds: NDArray[np.int64]
    weights: NDArray[np.float64]

    @classmethod
    def whole(cls, rows: int) -> "Sample":
        """All of so many rows, of one kind, each for itself."""
        return cls(np.arange(rows), np.zeros(rows, dtype=np.int64), np.ones(rows))

    @classmethod
    def joined(cls, parts: Iterable["Sample"]) -> "Sample":
        """The parts one after another."""
        return cls(*map(np.concatenate, zip(cls.whole(0), *parts, strict=True)))

    def in_slices(self) -> Iterator["Sample"]:
        """The same, some rows at a time."""
        for part in slices(len(self.places)):
            yield Sample(self.places[part], self.kinds[part], self.weights[part])


def evenly(rows: int, most: int) -> NDArray[np.int64]:
    """At most ``most`` of the places 0 to ``rows`` - 1, in order, evenly apart, the first and the last among them."""
    if rows <= most:
        return np.arange(rows)
    return np.linspace(0, rows - 1, most).astype(np.int64)

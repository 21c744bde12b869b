"""Very many rows some at a time: all that is made of them at once would fill the memory."""

from collections.abc import Iterator

SLICE = 50_000
"""Rows whose columns are held at once."""


def slices(count: int, most: int | None = None) -> Iterator[slice]:
    """``count`` rows, ``most`` at a time, SLICE where not given."""
    step = most or SLICE
    return (slice(first, min(first + step, count)) for first in range(0, count, step))

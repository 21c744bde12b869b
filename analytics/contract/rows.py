"""Rows of an answer that know their columns."""

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, Self, TypeVar

if TYPE_CHECKING:
    import polars as pl

Thing = TypeVar("Thing")


class Rows(list[dict[str, Any]]):
    """A list of rows with the ``columns`` that a row has, known also where there is no row."""

    def __init__(self, rows: Iterable[dict[str, Any]], columns: Iterable[str]) -> None:
        super().__init__(rows)
        self.columns = tuple(columns)

    @classmethod
    def each(cls, things: Iterable[Thing], told: Mapping[str, Callable[[Thing], object]]) -> Self:
        """A row for each thing: under every column what ``told`` makes of it."""
        return cls(({name: tell(thing) for name, tell in told.items()} for thing in things), told)

    @classmethod
    def of(cls, frame: "pl.DataFrame") -> Self:
        """The rows of a frame."""
        return cls(frame.to_dicts(), frame.columns)

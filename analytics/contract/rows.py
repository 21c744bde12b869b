"""Rows of an answer that know their columns."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    import polars as pl


class Rows(list[dict[str, Any]]):
    """A list of rows with the ``columns`` that a row has, known also where there is no row."""

    def __init__(self, rows: Iterable[dict[str, Any]], columns: Iterable[str]) -> None:
        super().__init__(rows)
        self.columns = tuple(columns)

    @classmethod
    def of(cls, frame: "pl.DataFrame") -> Self:
        """The rows of a frame."""
        return cls(frame.to_dicts(), frame.columns)

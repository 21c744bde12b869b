"""What the store holds already, for new rows that refer to it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import polars as pl

from analytics.contract.tables import TABLES

SIZES = ("length_m", "width_mm")
"""What measures a crack, and tells it from another of its job."""
KNOWN_COLUMNS = {
    "jobs": ("job_id", "status", "done_on"),
    "cracks": ("crack_id", "job_id", *SIZES),
    "reviews": tuple(TABLES["reviews"].column_names()),
}
Find = Callable[[str, Sequence[str], pl.Series], pl.DataFrame]
"""The rows in force of a table whose keys (the first column of them) are among some, with some columns."""


@dataclass(frozen=True)
class Known:
    """The rows that new rows may refer to: of this load, and in force where it has none."""

    find: Find
    brought: Mapping[str, pl.DataFrame] = field(default_factory=dict)

    @classmethod
    def of(cls, frames: Mapping[str, pl.DataFrame]) -> "Known":
        """Frames by table name as known rows."""
        return cls(lambda table, _, keys: frames[table].filter(pl.col(_key(table)).is_in(keys.implode())))

    @classmethod
    def nothing(cls) -> "Known":
        """An empty store."""
        return cls.of({name: TABLES[name].create_empty() for name in KNOWN_COLUMNS})

    def rows(self, table: str, keys: pl.Series) -> pl.DataFrame:
        """The rows with these keys, in the contract's types."""
        key, columns = _key(table), KNOWN_COLUMNS[table]
        wanted = keys.drop_nulls().alias(key)
        if table not in self.brought:
            return self.held(table, columns, wanted)
        new = self.brought[table].join(wanted.to_frame(), on=key, how="semi", maintain_order="left")
        missing = wanted.to_frame().join(new, on=key, how="anti").to_series()
        return new if missing.is_empty() else pl.concat([new, self.held(table, columns, missing)])

    def lost(self, table: str, frame: pl.DataFrame) -> pl.DataFrame:
        """The rows of a frame that refer to a row of ``table`` which is neither of this load nor in force."""
        key = _key(table)
        if table in self.brought:
            frame = frame.join(self.brought[table], on=key, how="anti", maintain_order="left")
        frame = frame.drop_nulls(key)
        return frame if frame.is_empty() else frame.join(self.held(table, (key,), frame[key]), on=key, how="anti")

    def held(self, table: str, columns: Sequence[str], keys: pl.Series) -> pl.DataFrame:
        """Some columns of the rows in force with these keys, in the contract's types, whatever this load brings."""
        types = pl.Schema(TABLES[table])
        return self.find(table, columns, keys).select(pl.col(name).cast(types[name]) for name in columns)

    def with_rows(self, table: str, clean: pl.DataFrame) -> "Known":
        """The rows as they will be once ``clean`` is in."""
        if table not in KNOWN_COLUMNS:
            return self
        rows = [*([self.brought[table]] if table in self.brought else []), clean.select(KNOWN_COLUMNS[table])]
        return replace(self, brought={**self.brought, table: pl.concat(rows)})


def _key(table: str) -> str:
    return TABLES[table].primary_key()[0]

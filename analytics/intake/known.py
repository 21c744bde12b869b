"""What the store holds already, for new rows that refer to it."""

from dataclasses import dataclass, replace

import polars as pl

from analytics.contract.tables import TABLES

KNOWN_COLUMNS = {
    "jobs": ("job_id", "status", "done_on"),
    "cracks": ("crack_id", "job_id"),
    "reviews": tuple(TABLES["reviews"].column_names()),
}


@dataclass(frozen=True)
class Known:
    """The rows in force that new rows may refer to, with the columns of ``KNOWN_COLUMNS``."""

    jobs: pl.DataFrame
    cracks: pl.DataFrame
    reviews: pl.DataFrame

    @classmethod
    def of(cls, frames: dict[str, pl.DataFrame]) -> "Known":
        """Frames by table name as known rows, in the contract's types."""
        types = {name: pl.Schema(TABLES[name]) for name in KNOWN_COLUMNS}
        return cls(
            **{
                name: frames[name].select(pl.col(column).cast(types[name][column]) for column in columns)
                for name, columns in KNOWN_COLUMNS.items()
            }
        )

    @classmethod
    def nothing(cls) -> "Known":
        """An empty store."""
        return cls.of({name: TABLES[name].create_empty() for name in KNOWN_COLUMNS})

    def with_rows(self, table: str, clean: pl.DataFrame) -> "Known":
        """The rows as they will be once ``clean`` is in."""
        if table not in KNOWN_COLUMNS:
            return self
        before: pl.DataFrame = getattr(self, table)
        key = TABLES[table].primary_key()[0]
        new = clean.select(KNOWN_COLUMNS[table])
        return replace(self, **{table: pl.concat([new, before.join(new, on=key, how="anti")])})

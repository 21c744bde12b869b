"""One job with all that hangs on it, as it is recorded: what is changed by hand starts from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from analytics.answers.records import Records
from analytics.contract.tables import TABLES

Row = dict[str, str]
"""A row as texts by column, as a file would hold it; nothing recorded is an empty text."""
Tables = Mapping[str, Sequence[Row]]
"""Rows by table."""
Frames = Mapping[str, pl.DataFrame]
"""Rows in force by table, in the contract's types."""


@dataclass(frozen=True)
class JobRows:
    """The rows in force of one job's tables, in the contract's types."""

    job_id: str
    frames: Frames

    @classmethod
    def of(cls, records: Records, job_id: str) -> "JobRows":
        """The rows of the job ``job_id``; all empty where it is not loaded."""
        named = {"jobs": "job_row", "cracks": "job_cracks", "callbacks": "job_calls", "reviews": "job_reviews"}
        asked = {table: records.ask(select, job_id=job_id) for table, select in named.items()}
        return cls(job_id, {table: typed(frame, table) for table, frame in asked.items()})

    @classmethod
    def meant(cls, records: Records, typed: str) -> "JobRows":
        """The rows of the one job that ``typed`` may mean: in any capitals, without letters, by a crack's number."""
        found = cls.of(records, typed)
        if found.job is not None:
            return found
        meant = records.ask("jobs_meant", typed=typed)["job_id"]
        return cls.of(records, meant.item()) if len(meant) == 1 else found

    @property
    def job(self) -> Row | None:
        """The job's own row; None where it is not loaded."""
        found = self.rows("jobs")
        return found[0] if found else None

    def rows(self, table: str) -> list[Row]:
        """The rows of one table as texts."""
        return texts(self.frames[table])

    def row(self, table: str, key: str) -> Row:
        """The row with this key as texts; KeyError where the job has none."""
        [column] = TABLES[table].primary_key()
        return {row[column]: row for row in self.rows(table)}[key]

    def open_review(self, crack_id: str) -> Row | None:
        """The question about a crack that an engineer has not answered yet, the latest where there are several."""
        waiting = [r for r in self.rows("reviews") if r["crack_id"] == crack_id and not r["decision"]]
        return waiting[-1] if waiting else None


def typed(frame: pl.DataFrame, table: str) -> pl.DataFrame:
    """Rows from the store in the contract's types."""
    types = pl.Schema(TABLES[table])
    return frame.select(pl.col(name).cast(types[name]) for name in TABLES[table].column_names())


def texts(frame: pl.DataFrame) -> list[Row]:
    """Rows as texts: days as year-month-day, truth as true or false, numbers in full."""
    return [{name: _text(value) for name, value in row.items()} for row in frame.iter_rows(named=True)]


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() else repr(value)
    return str(value)

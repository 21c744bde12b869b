"""How complete the records are, and what each gap costs the estimates."""

from dataclasses import asdict, dataclass
from datetime import date

import polars as pl

from analytics.answers.quality_sentences import NEEDS, cost_words, gap_words, jump_words, twin_words
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.contract.rows import Rows
from analytics.decisions.changed_meaning import Jump, jumps
from analytics.decisions.quiet_months import Gap, gaps

KINDS = ("quoted", "done", "called")


@dataclass(frozen=True)
class Grounds:
    """What an estimate rests on: of ``rows`` it speaks of, ``usable`` have all it needs; ``says`` what that costs."""

    estimate: str
    rows: int
    usable: int
    says: str

    @property
    def share(self) -> float | None:
        """The share it rests on; None where there is nothing to speak of."""
        return self.usable / self.rows if self.rows else None


@dataclass(frozen=True)
class Quality:
    """The state of the records.

    ``filled``: table_name, column_name, year, row_count, filled. ``twins``: column_name, spellings, row_count.
    ``tried``: how many pairs of years the jumps were looked for in.
    """

    as_of: date | None
    filled: pl.DataFrame
    grounds: tuple[Grounds, ...]
    jumps: tuple[Jump, ...]
    tried: int
    gaps: tuple[Gap, ...]
    twins: pl.DataFrame

    def answer(self) -> dict[str, object]:
        """The answer's keys: rows is the completeness by column and year."""
        rows = self.filled.with_columns(share=pl.col("filled") / pl.col("row_count"))
        names = {"table_name": "table", "column_name": "column", "row_count": "rows"}
        return {
            "as_of": self.as_of,
            "rows": Rows.of(rows.rename(names)),
            "costs": [asdict(each) | {"share": each.share} for each in self.grounds],
            "jumps": [asdict(jump) | {"says": jump_words(jump)} for jump in self.jumps],
            "jumps_tried": self.tried,
            "gaps": [asdict(gap) | {"says": gap_words(gap)} for gap in self.gaps],
            "twins": [row | {"says": twin_words(row)} for row in self.twins.to_dicts()],
        }


@remembered
def quality(records: Records) -> Quality:
    """Completeness by column and year, gaps in months, columns that jumped, codes written in two ways."""
    found, tried = jumps(records.ask("job_means"))
    return Quality(
        as_of=records.as_of,
        filled=records.ask("filled_cells").sort("table_name", "column_name", "year"),
        grounds=_grounds(records.ask("estimate_grounds")),
        jumps=tuple(found),
        tried=tried,
        gaps=_gaps(records),
        twins=records.ask("twin_codes"),
    )


def _grounds(asked: pl.DataFrame) -> tuple[Grounds, ...]:
    by_name = {row["estimate"]: row for row in asked.to_dicts()}
    found = [
        Grounds(name, row["row_count"], row["usable"], cost_words(need, row["row_count"], row["usable"]))
        for name, need in NEEDS.items()
        if (row := by_name[name])["row_count"]
    ]
    return tuple(sorted(found, key=lambda each: each.usable / each.rows))


def _gaps(records: Records) -> tuple[Gap, ...]:
    if records.as_of is None:
        return ()
    by_kind: dict[str, dict[date, int]] = {kind: {} for kind in KINDS}
    for kind, month, count in records.ask("months_recorded").iter_rows():
        by_kind[kind][month] = count
    return tuple(gap for kind, counts in by_kind.items() for gap in gaps(kind, counts, records.as_of))

"""Only what would be accepted is proposed for a faulty cell: each proposal is tried in its row."""

from datetime import date

import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake import checking
from analytics.intake.checking import PLACE, Draft
from analytics.intake.known import Known
from analytics.intake.referring import check_references
from analytics.intake.typing_cells import typed

CELL = [*PLACE, "column"]


def only_accepted(rejects: pl.DataFrame, draft: Draft, known: Known, today: date) -> pl.DataFrame:
    """The rejected cells without the proposals under ``nearest`` that would be rejected again.

    Args:
        rejects: faulty cells of one table, each with what it seems to mean.
        draft: the rows they are of.
        known: the rows that they may refer to.
        today: the load date.
    """
    proposed = rejects.drop_nulls("nearest").select(*CELL, "nearest").unique(CELL, maintain_order=True)
    if proposed.is_empty():
        return rejects
    values = _values(draft.table, proposed)
    tried = _checked(_mended(draft, values), known, today).faults
    others = tried.join(rejects, on=CELL, how="anti").select(PLACE)  # what the proposals themselves bring about
    refused = pl.concat(
        [
            tried.join(proposed, on=CELL, how="semi").select(CELL),
            proposed.join(others, on=PLACE, how="semi").select(CELL),
            *(_as_read(draft.frame, name, cells) for name, cells in values.items()),
        ]
    )
    marked = rejects.join(
        refused.unique().with_columns(refused=pl.lit(value=True)), on=CELL, how="left", maintain_order="left"
    )
    return marked.with_columns(nearest=pl.when(pl.col("refused").is_null()).then("nearest")).drop("refused")


def _checked(draft: Draft, known: Known, today: date) -> Draft:
    return check_references(checking.check_days(checking.check_rows(draft), today), known)


def _values(table: str, proposed: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """The proposals of each column as values, with the cells that they are for."""
    declared = TABLES[table].columns()
    return {
        str(name): cells.select(CELL).with_columns(typed(cells["nearest"], declared[str(name)])[0].alias("proposed"))
        for (name,), cells in proposed.partition_by("column", as_dict=True).items()
    }


def _as_read(frame: pl.DataFrame, name: str, cells: pl.DataFrame) -> pl.DataFrame:
    """The cells whose proposal is what was read in them already: it was not what is wrong with the row."""
    read = frame.select(*PLACE, pl.col(name).alias("read"))
    return cells.join(read, on=PLACE).filter(pl.col("read") == pl.col("proposed")).select(CELL)


def _mended(draft: Draft, values: dict[str, pl.DataFrame]) -> Draft:
    """The rows as they would be with their proposals in place."""
    places = pl.concat([cells.select(PLACE) for cells in values.values()])
    frame = draft.frame.join(places, on=PLACE, how="semi", maintain_order="left")
    for name, cells in values.items():
        frame = frame.join(cells.select(*PLACE, "proposed"), on=PLACE, how="left", maintain_order="left")
        frame = frame.with_columns(pl.coalesce("proposed", name).alias(name)).drop("proposed")
    return Draft(draft.table, frame, draft.faults.clear())

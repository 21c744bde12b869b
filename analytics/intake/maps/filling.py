"""Facts that stand once above the rows they are for, and rows that only sum up those above them."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import polars as pl

from analytics.intake.numerals import numbers, settle_mark
from analytics.intake.sheet import FAULTS, Sheet

TOTAL_WORDS = r"(?i)\b(?:sub)?(?:totals?|sums?|averages?)\b"
ONLY_NUMBER = r"^[^\pL\d]{0,3}\d[\d.,' \u00a0\u202f]*\D{0,3}$"
FULL, NEAR = 0.9, 0.006
"""Of nearly all; and how far a sum of rounded numbers may be from the one written."""
FEWEST_ABOVE = 2
A_SUM, NO_SIZE = "looks like a sum of those above", "holds nothing but numbers and no size"
"""Why a row is taken for a sum, as a fault says it."""


def filled_down(sheet: Sheet, headers: Sequence[str], sums: pl.Series) -> Sheet:
    """The sheet with blank cells of some columns filled by the nearest above, as a reader of the page would.

    Each column is filled only among rows that are alike in those listed before it: a job's day never runs on into the
    next job. A row that only sums up those above it is no job's, and is left as it is.

    Args:
        sheet: the sheet.
        headers: what is filled down, in this order.
        sums: which rows sum others up.
    """
    cells, masks = sheet.cells, dict(sheet.days)
    before: list[str] = []
    here = "\0here"
    for header in headers:
        nearest = pl.when(pl.col(header).str.strip_chars() != "").then(pl.col(here)).forward_fill()
        above = cells.with_row_index(here).select(nearest.over(before) if before else nearest).to_series()
        above = above.zip_with(~sums, pl.int_range(cells.height, eager=True).cast(above.dtype))
        cells = cells.with_columns(cells[header].gather(above).fill_null("").alias(header))
        if header in masks:
            masks[header] = masks[header].gather(above).fill_null(value=False)
        before.append(header)
    return replace(sheet, cells=cells, days=masks)


def pointed_out(sheet: Sheet, header: str, sums: pl.Series, rows: pl.Series) -> pl.DataFrame:
    """A fault for each of ``rows`` that was left without the job in ``header`` because it sums others up.

    ``sums`` says why each row does; null for the others.
    """
    left = f", so no {header} was filled in; delete it, or write its {header}"
    found = sheet.numbers.to_frame("row").with_columns(why=sums).drop_nulls("why")
    found = found.filter(pl.col("row").is_in(rows.implode()))
    reason = pl.concat_str(pl.lit("the row "), "why", pl.lit(left))
    return found.select("row", column=pl.lit(header), reason=reason).cast(pl.Schema(FAULTS))


def uncounted(faults: pl.DataFrame, key: str, header: str) -> pl.DataFrame:
    """For each fault of a row left without the job in ``header``, one of the ``key`` that is counted by that."""
    reason = f"{key} follows from {header}, once that is written in the file; in a work list, write it too"
    return faults.with_columns(column=pl.lit(key), reason=pl.lit(reason))


def sums_up(sheet: Sheet, job: str | None, headers: Sequence[str], sizes: Iterable[str]) -> pl.Series:
    """Why each row only sums up those above it, and is itself nothing that was repaired; null for the others.

    Such a row has no job's number and holds nothing but numbers and no size of a crack, where the sheet has sizes; or
    it lacks what nearly every row has, and says that it is a total or is one: each number the sum of those above.

    Args:
        sheet: the sheet.
        job: the header of a job's number; None where that is in no column, and no row is told to be a sum.
        headers: what stands once above the rows it is for.
        sizes: headers that measure a crack.
    """
    cells = sheet.cells.select(pl.all().str.strip_chars())
    filled = cells.select(pl.all() != "")
    asked = ~filled[job] & _any(filled) if job else pl.Series(dtype=pl.Boolean)
    if not asked.any():
        return pl.repeat(None, cells.height, dtype=pl.String, eager=True)
    word = _any(cells.select(pl.all().str.contains(TOTAL_WORDS)))
    bare = cells.select(pl.all().str.contains(ONLY_NUMBER) | (pl.all() == ""))
    only = bare.select(pl.all_horizontal(pl.all())).to_series()
    measured = [header for header in sizes if header in cells.columns]
    sizeless = ~_any(filled.select(measured)) if measured else pl.repeat(value=False, n=cells.height, eager=True)
    unlike = asked & _lacking(filled, [header for header in cells.columns if header not in headers])
    told, bare_only = asked & ((word & unlike) | _summed(cells, asked, unlike)), asked & only & sizeless
    return pl.select(pl.when(told).then(pl.lit(A_SUM)).when(bare_only).then(pl.lit(NO_SIZE))).to_series()


def _any(which: pl.DataFrame) -> pl.Series:
    return which.select(pl.any_horizontal(pl.all())).to_series()


def _lacking(filled: pl.DataFrame, others: Sequence[str]) -> pl.Series:
    """Which rows lack something that nearly all rows have that are as full as most."""
    count = filled.select(pl.sum_horizontal(others) if others else pl.lit(0)).to_series()
    full = filled.filter(count >= (count.filter(count > 0).median() or 0))
    usual = [header for header in others if full[header].sum() >= FULL * full.height]
    return ~filled.select(pl.all_horizontal(usual) if usual else pl.lit(value=True)).to_series()


def _summed(cells: pl.DataFrame, asked: pl.Series, unlike: pl.Series) -> pl.Series:
    """Which of the rows ``unlike`` the others hold, in each number, the sum of the rows above or since the last sum."""
    mark = settle_mark(cells.get_columns())
    read = cells.select(numbers(column, mark, signs=True, thousands=True).cast(pl.Float64) for column in cells)
    there = read.select(pl.all().is_not_null()).to_numpy()
    values = read.fill_null(0).to_numpy()
    running, counted = values.cumsum(axis=0), there.cumsum(axis=0)
    summed = [False] * cells.height
    none = values[:1].sum(axis=0) * 0
    parts = [(none, none), (none, none)]  # what is no part of the sum of all, and of the sum since the last one
    for row in (asked & unlike).arg_true().to_list():
        at = there[row]
        if (
            row
            and at.any()
            and any(
                ((counted[row - 1] - count)[at] >= FEWEST_ABOVE).all()
                and (abs(values[row] - (running[row - 1] - less))[at] < NEAR).all()
                for less, count in parts
            )
        ):
            summed[row] = True
            (less, count), _ = parts
            parts = [(less + values[row], count + there[row]), (running[row], counted[row])]
    return pl.Series(summed, dtype=pl.Boolean)

"""A column as its distinct texts: what is true of a cell is worked out once a text, not once a row.

A million rows hold a few hundred different lengths, days or words.
"""

from collections.abc import Mapping

import polars as pl

SAMPLE = 1_000


def come_again(cells: pl.Series) -> bool:
    """Whether a column's texts come again, as some cells all over it show: keys and sites are nearly all different.

    Where they do not, to tell them apart takes longer than it saves.
    """
    sample = cells.gather_every(max(len(cells) // SAMPLE, 1))
    return 2 * sample.n_unique() <= len(sample)


def told_apart(cells: pl.Series) -> tuple[pl.Series, pl.Series]:
    """The distinct texts of a column, and for each cell the place of its own among them; null for a null."""
    texts = cells.unique().drop_nulls()
    return texts, cells.cast(pl.Enum(texts)).to_physical().cast(pl.UInt32)


def spread(values: pl.Series, reasons: Mapping[int, str], places: pl.Series) -> tuple[pl.Series, dict[int, str]]:
    """What was found of the distinct texts, by place, as what holds of each cell, by position."""
    found = values.gather(places)
    if not reasons:
        return found, {}
    faulty = places.is_in(list(reasons)).fill_null(value=False).arg_true()
    return found, dict(zip(faulty, map(reasons.__getitem__, places.gather(faulty)), strict=True))

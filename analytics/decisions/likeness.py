"""In words: what makes a finished crack comparable to a planned one, and what makes a planned one unlike them all."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.descriptions import label, unit
from analytics.contract.tables import TABLES
from analytics.decisions.comparable import LOGS, FinishedCracks, Ranges, Singles, number

ALIKE = 0.05
"""A number within this share of its range, on either side, counts as alike."""
FIGURES = 4
"""One more than a reader in other units sees: 8 ft are 2.438 m, and of 2.44 m would be made 8.01 ft."""
OTHER, GAP = " of the other", " gap"
MOST_NAMED = 2
AS_GOOD_AS = 0.02
"""A size so little outside what was seen, as a share of it, is none never seen: a wall of 8 in is called one of 200 mm
(common practice, no source)."""


def compare(ranges: Ranges, cracks: pl.DataFrame, others: pl.DataFrame) -> pl.DataFrame:
    """Each crack beside the other of the same row, in words: ``alike``, ``differs``, ``matching``, ``beside``.

    ``alike`` names the ``matching`` measurements; ``differs`` says of the rest what is here and what was there. What is
    blank on either side is in neither, and is not among those ``beside`` each other.
    """
    names = (*ranges.numbers, *ranges.words)
    beside = _beside(ranges, cracks, others)
    alike = [pl.when(_gap(name) < ALIKE).then(pl.lit(label(name))) for name in names]
    differs = [pl.when(_gap(name) >= ALIKE).then(_said_of_both(name, "{} {} here, {} there")) for name in names]
    return beside.select(
        alike=pl.concat_str(alike, separator=", ", ignore_nulls=True),
        differs=pl.concat_str(differs, separator="; ", ignore_nulls=True),
        matching=pl.sum_horizontal(_gap(name) < ALIKE for name in names),
        beside=pl.sum_horizontal(_gap(name).is_not_null() for name in names),
    )


@dataclass(frozen=True)
class Unlike:
    """Why a planned crack is unlike any finished one: the measurements that make it so, in words."""

    measurements: tuple[str, ...]

    @property
    def words(self) -> str:
        """The sentence shown."""
        return f"No finished crack is like this one: {'; '.join(self.measurements)}."


def unlike(
    reference: FinishedCracks, cracks: pl.DataFrame, rows: NDArray[np.intp], distances: Singles
) -> list[Unlike | None]:
    """For each planned crack, why it is unlike any finished one; None where it is not.

    It is where a number lies well outside what was seen, a word was never seen, or the nearest crack (``rows`` and
    ``distances`` of ``comparable.nearest``) is further than 95 % of the records' own cracks are from theirs; then the
    measurements that part it most from its nearest are named. Without any finished crack there is nothing to be unlike.
    """
    if reference.cracks.is_empty():
        return [None] * cracks.height
    said: list[list[str]] = cracks.select(never_seen=_listed(_outside(reference.ranges)))["never_seen"].to_list()
    if reference.usual is not None:
        for place, parting in _far(reference, cracks, rows[:, 0], distances[:, 0] > reference.usual):
            said[place] = said[place] or parting
    return [Unlike(tuple(each)) if each else None for each in said]


def _far(
    reference: FinishedCracks, cracks: pl.DataFrame, nearest: NDArray[np.intp], far: NDArray[np.bool_]
) -> Iterator[tuple[int, list[str]]]:
    """The places of cracks far from all others, each with what parts it most from its nearest."""
    ranges, places = reference.ranges, np.flatnonzero(far)
    beside = _beside(ranges, cracks[places.tolist()], reference.cracks[nearest[places].tolist()])
    names = (*ranges.numbers, *ranges.words)
    gaps = beside.select(_gap(name) for name in names).fill_null(0).to_numpy()
    said = beside.select(_said_of_both(name, "{} {}, {} on the closest").alias(name) for name in names)
    for place, row, texts in zip(places.tolist(), gaps, said.iter_rows(), strict=True):
        largest = np.argsort(-row, kind="stable")[:MOST_NAMED]
        yield place, [texts[column] for column in largest if row[column] >= ALIKE]


def _outside(ranges: Ranges) -> Sequence[pl.Expr]:
    """For each measurement on record, the words where it was never seen so, null where it was."""
    found: list[pl.Expr] = []
    for name, ends in ranges.numbers.items():
        if name in LOGS and ends is not None:
            low, high = ends
            seen = f"yours run {_figures(np.exp(low))} to {_figures(np.exp(high))} {_unit(name)}"
            beyond = ~number(name).is_between(low - AS_GOOD_AS, high + AS_GOOD_AS)
            found.append(pl.when(beyond).then(pl.format(f"{label(name)} {{}} ({seen})", _said(name, name))))
    for name, words in ((name, words) for name, words in ranges.words.items() if words):
        never = ~_text(name).is_in(words)
        found.append(pl.when(never).then(pl.format(f"{label(name)} {{}} (never done)", _said(name, name))))
    return found


def _beside(ranges: Ranges, cracks: pl.DataFrame, others: pl.DataFrame) -> pl.DataFrame:
    """Each crack with the other of its row and their gap in each measurement, 0 to 1, null where either is blank."""
    names = (*ranges.numbers, *ranges.words)
    pairs = pl.concat(
        [cracks.select(names), others.select(pl.col(name).alias(f"{name}{OTHER}") for name in names)],
        how="horizontal",
    )
    return pairs.with_columns(
        *(((number(n) - number(n, f"{n}{OTHER}")).abs() / ranges.span(n)).alias(f"{n}{GAP}") for n in ranges.numbers),
        *((_text(n) != _text(f"{n}{OTHER}")).cast(pl.Float64).alias(f"{n}{GAP}") for n in ranges.words),
    )


def _gap(name: str) -> pl.Expr:
    return pl.col(f"{name}{GAP}")


def _listed(texts: Sequence[pl.Expr]) -> pl.Expr:
    return pl.concat_list(texts).list.drop_nulls()


def _said_of_both(name: str, pattern: str) -> pl.Expr:
    """``pattern`` with the measurement's name, then the crack's own value and the other's."""
    return pl.format(pattern, pl.lit(label(name)), _said(name, name), _said(name, f"{name}{OTHER}"))


def _said(name: str, column: str) -> pl.Expr:
    """A measurement as words: its value and unit, or the word of its list."""
    if name not in LOGS:
        return _text(column).str.replace_all("_", " ")
    figures = pl.col(column).cast(pl.Float64).round_sig_figs(FIGURES).cast(pl.String).str.strip_suffix(".0")
    return figures + f" {_unit(name)}"


def _unit(name: str) -> str:
    return unit(TABLES["cracks"].columns()[name])


def _figures(value: float) -> str:
    return f"{value:.{FIGURES}g}"


def _text(column: str) -> pl.Expr:
    return pl.col(column).cast(pl.String)

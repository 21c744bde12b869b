"""Finished cracks most like a planned one, and whether any is like it at all.

Distance by Gower (Biometrics 27 (1971) 857): each measurement counts 0 to 1, the difference over its range in the
records (lengths, widths and thicknesses by their logs, water by its order) or whether two words differ; what is blank
on either side is left out, and the mean is taken over the rest.
"""

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.tables import WATERS
from analytics.stats.sampling import evenly
from analytics.stats.slices import slices
from analytics.stats.threads import one_thread

Singles = NDArray[np.float32]
NEAREST = 10
SEEN_SHARE = 0.95
"""Past the distance within which this share of the records' own cracks have their nearest, a crack is unlike any."""
MOST_RECORDS = 20_000
"""With more finished cracks than these, the latest are compared with."""
SAMPLE = 1_000
CHUNK = 250_000
"""Distances worked out at a time: what stays in the processor's own memory."""
LOGS = ("length_m", "width_mm", "wall_thickness_mm")
ORDERS: Mapping[str, Sequence[str]] = {"water": WATERS}
WORDS = ("direction", "movement", "access", "resin", "season")
MEASUREMENTS = (*LOGS, *ORDERS, *WORDS)


@dataclass(frozen=True, eq=False)
class Points:
    """Cracks made ready for distances.

    ``numbers`` (n by k, each column in one piece) are scaled to their ranges, NaN where blank; ``words`` (n by c) has
    a column of 0 and 1 a word; ``told`` (n by all measurements) says whether each is recorded.
    """

    numbers: Singles
    words: Singles
    told: Singles


@dataclass(frozen=True)
class Ranges:
    """What the records set: the lowest and highest of each number, and the words seen of each choice.

    None and no words where the records hold no such measurement.
    """

    numbers: Mapping[str, tuple[float, float] | None]
    words: Mapping[str, tuple[str, ...]]

    def span(self, name: str) -> float:
        """What a gap in a number is held against: how far it ranges; 1 where it does not, or was never recorded."""
        low, high = self.numbers[name] or (0.0, 0.0)
        return (high - low) or 1.0

    def points(self, cracks: pl.DataFrame) -> Points:
        """These cracks as points; a word never seen matches none."""
        numbers = cracks.select(number(name) / self.span(name) for name in self.numbers)
        words = cracks.select(
            pl.col(name).cast(pl.String).eq_missing(pl.lit(word)).alias(f"{name} {word}")
            for name, seen in self.words.items()
            for word in seen
        )
        told = cracks.select(pl.col(name).is_not_null() for name in (*self.numbers, *self.words))
        return Points(np.asfortranarray(_singles(numbers)), _singles(words), _singles(told))


def ranges_of(records: pl.DataFrame, numbers: Sequence[str] = (*LOGS, *ORDERS), words: Sequence[str] = WORDS) -> Ranges:
    """The ranges of these records' numbers and the words of their choices."""
    spans = records.select(pl.concat_list(number(n).min(), number(n).max()).alias(n) for n in numbers).row(0)
    return Ranges(
        {name: None if low is None else (low, high) for name, (low, high) in zip(numbers, spans, strict=True)},
        {name: tuple(records[name].cast(pl.String).drop_nulls().unique().sort()) for name in words},
    )


def gower(one: Points, other: Points) -> Singles:
    """The distance from each of ``one`` to each of ``other``; 1 where they have no measurement in common."""
    both = one.told @ other.told.T
    numbers = one.numbers.shape[1]
    mine = np.hstack([one.told[:, numbers:], -one.words])
    apart = mine @ np.hstack([other.told[:, numbers:], other.words]).T  # words on both sides, less those alike
    gap = np.empty_like(apart)
    for column in range(numbers):
        np.subtract(one.numbers[:, column, None], other.numbers[None, :, column], out=gap)
        np.abs(gap, out=gap)
        np.copyto(gap, 0, where=np.isnan(gap))  # a blank counts nothing
        apart += gap
    apart[both == 0] = 1
    distance: Singles = np.divide(apart, np.maximum(both, 1, out=both), out=apart)
    return distance


@dataclass(frozen=True, eq=False)
class FinishedCracks:
    """The finished cracks to compare with, the latest first, and how near such cracks lie to one another.

    ``usual`` is the distance within which 95 % of them have their nearest other; None with fewer than two.
    """

    cracks: pl.DataFrame
    ranges: Ranges
    points: Points
    usual: float | None


@one_thread()
def finished_cracks(follow_up: pl.DataFrame) -> FinishedCracks:
    """The records made ready: the latest ``MOST_RECORDS`` done cracks, measured on a sample spread evenly over them."""
    cracks = _latest(follow_up)
    ranges = ranges_of(cracks)
    points = ranges.points(cracks)
    if cracks.height < 2:  # noqa: PLR2004 - one crack has no other
        return FinishedCracks(cracks, ranges, points, None)
    nearest = np.concatenate(list(_nearest_others(points, evenly(cracks.height, SAMPLE))))
    return FinishedCracks(cracks, ranges, points, float(np.quantile(nearest, SEEN_SHARE)))


@one_thread()
def nearest(reference: FinishedCracks, cracks: pl.DataFrame, count: int = NEAREST) -> tuple[NDArray[np.intp], Singles]:
    """The rows of ``reference.cracks`` nearest to each crack (n by count), nearest first, and their distances."""
    count = min(count, reference.cracks.height)
    rows = np.zeros((cracks.height, count), dtype=np.intp)
    distances = np.zeros((cracks.height, count), dtype=np.float32)
    if count:
        parts = list(_chunks(reference.ranges.points(cracks), reference.cracks.height))
        with ThreadPoolExecutor() as threads:
            found = threads.map(lambda part: _smallest(gower(part[1], reference.points), count), parts)
            for (part, _), each in zip(parts, found, strict=True):
                rows[part], distances[part] = each
    return rows, distances


def number(measurement: str, column: str = "") -> pl.Expr:
    """A measurement as distances count it, from the column of its name or ``column``: a log, or a place in an order."""
    said = pl.col(column or measurement)
    if measurement in ORDERS:
        places = {word: float(place) for place, word in enumerate(ORDERS[measurement])}
        return said.cast(pl.String).replace_strict(places, default=None, return_dtype=pl.Float64)
    return said.cast(pl.Float64).log() if measurement in LOGS else said.cast(pl.Float64)


def _latest(follow_up: pl.DataFrame) -> pl.DataFrame:
    """The latest ``MOST_RECORDS`` done cracks, the last first."""
    days = follow_up.select("done_on", "crack_id").with_row_index("row")
    rows = days.sort("done_on", "crack_id", descending=[True, False]).head(MOST_RECORDS)["row"]
    return follow_up[rows]


def _singles(frame: pl.DataFrame) -> Singles:
    values: Singles = frame.select(pl.all().cast(pl.Float32).fill_null(float("nan"))).to_numpy()
    return np.ascontiguousarray(values)


def _chunks(points: Points, others: int) -> Iterator[tuple[slice, Points]]:
    """The points in parts small enough that their distances to ``others`` stay in memory, each with its rows."""
    size = max(1, CHUNK // max(others, 1))
    for rows in slices(len(points.told), size):
        yield rows, Points(points.numbers[rows], points.words[rows], points.told[rows])


def _nearest_others(points: Points, chosen: NDArray[np.intp]) -> Iterator[Singles]:
    """The distance of each chosen point to its nearest other."""
    sample = Points(points.numbers[chosen], points.words[chosen], points.told[chosen])
    for rows, part in _chunks(sample, len(points.told)):
        distances = gower(part, points)
        distances[np.arange(len(distances)), chosen[rows]] = np.inf
        yield distances.min(axis=1)


def _smallest(distances: Singles, count: int) -> tuple[NDArray[np.intp], Singles]:
    """The columns of the ``count`` smallest of each row, smallest first, of equals the first, and their values."""
    largest = np.partition(distances, count - 1, axis=1)[:, count - 1, None]
    rows, columns = np.divmod(np.flatnonzero(distances <= largest), distances.shape[1])
    values = distances[rows, columns]
    order = np.lexsort((columns, values, rows))
    order = order[np.arange(len(rows)) - np.searchsorted(rows, rows) < count]  # more may equal the largest
    return columns[order].reshape(-1, count), values[order].reshape(-1, count)

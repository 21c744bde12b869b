"""Rows of a sheet before and after a column map: what is written, and what would be kept of it."""

from collections.abc import Iterable

import polars as pl

from analytics.contract import words
from analytics.contract.tables import TABLES
from analytics.intake.sheet import AS_IN_THE_CONTRACT, Mark, Sheet
from analytics.intake.typing_cells import said, settle, typed

PREVIEW = {
    "table": pl.String,
    "row": pl.Int64,
    "column": pl.String,
    "before": pl.String,
    "after": pl.String,
    "fault": pl.String,
}
CODED = "a code in its place"
"""What becomes of a site, a person's name or a keyed text; a preview makes none."""


def first_rows(sheets: Iterable[Sheet], rows: int = 5) -> pl.DataFrame:
    """The first rows of sheets of our tables: table, row, column, the cell before, the value after, why it has none.

    Of the later rows, the first cell of each column that cannot be read as it stands, with how many more there are.
    """
    frames = [pl.DataFrame(schema=PREVIEW)]
    for part in sheets:
        mark = settle(part)
        for name in (name for name in TABLES[part.table].column_names() if name in part.headers):
            after, faults = _read(part, name, mark)
            faults |= _met(part, name)
            after = after.scatter(list(faults), None)
            later = sorted(place for place in faults if place >= rows)
            shown = [*range(min(rows, part.cells.height)), *later[:1]]
            if len(later) > 1:
                faults[later[0]] += f" (and {words.counted(len(later) - 1, 'more cell')} of this column)"
            frames.append(_rows(part, name, shown, after, faults))
    order = {name: place for place, name in enumerate(TABLES)}
    placed = pl.col("table").replace_strict(order, return_dtype=pl.Int64)
    return pl.concat(frames).sort(placed, "row", maintain_order=True)


def _read(part: Sheet, name: str, mark: Mark) -> tuple[pl.Series, dict[int, str]]:
    """What would be kept of a column, as text: all of it, for its other cells say how one is read."""
    written = part.written.get(name, AS_IN_THE_CONTRACT)
    cells = said(part.cells[name], written)
    if name == "site_id" or written.keyed:
        return _coded(cells, cells.is_not_null()), {}
    if name == "crew_id":
        return _coded(cells, ~cells.str.contains(r"^[A-Za-z0-9-]*\d[A-Za-z0-9-]*$")), {}
    column, is_day = TABLES[part.table].columns()[name], part.days.get(name)
    values, faults = typed(cells, column, written, mark=mark, is_day=is_day, day_zero=part.day_zero)
    return values.cast(pl.String), faults


def _met(part: Sheet, name: str) -> dict[int, str]:
    """What the reader met in a column; what it met in a whole row, in that of the key."""
    columns = [name, ""] if name == TABLES[part.table].primary_key()[0] else [name]
    places = part.numbers.to_frame("row").with_row_index("place")
    met = places.join(part.faults.filter(pl.col("column").is_in(columns)), on="row")
    return dict(met.select("place", "reason").iter_rows())


def _coded(cells: pl.Series, which: pl.Series) -> pl.Series:
    return cells.set(which.fill_null(value=False), CODED)


def _rows(part: Sheet, name: str, places: list[int], after: pl.Series, faults: dict[int, str]) -> pl.DataFrame:
    count = len(places)
    return pl.DataFrame(
        {
            "table": [part.table] * count,
            "row": part.numbers.gather(places),
            "column": [name] * count,
            "before": part.cells[name].gather(places),
            "after": after.gather(places),
            "fault": [faults.get(place) for place in places],
        },
        schema=PREVIEW,
    )

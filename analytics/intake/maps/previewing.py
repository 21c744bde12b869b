"""The first rows of a sheet before and after a column map: what is written, and what would be kept of it."""

from collections.abc import Iterable

import polars as pl

from analytics.contract.tables import TABLES
from analytics.intake.maps.applying import apply
from analytics.intake.maps.column_map import ColumnMap
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


def preview(sheet: Sheet, column_map: ColumnMap, rows: int = 5) -> pl.DataFrame:
    """The first rows under the map: table, row, column, the cell before, the value after, and why it has none."""
    return first_rows(apply(column_map, sheet), rows)


def first_rows(sheets: Iterable[Sheet], rows: int = 5) -> pl.DataFrame:
    """The first rows of sheets that are of our tables already; see ``preview``."""
    frames = [pl.DataFrame(schema=PREVIEW)]
    for part in sheets:
        mark = settle(part)
        for name in (name for name in TABLES[part.table].column_names() if name in part.headers):
            before = part.cells[name].head(rows)
            after, faults = _read(part, name, before, mark)
            frames.append(_rows(part, name, before, after, faults))
    order = {name: place for place, name in enumerate(TABLES)}
    placed = pl.col("table").replace_strict(order, return_dtype=pl.Int64)
    return pl.concat(frames).sort(placed, "row", maintain_order=True)


def _read(part: Sheet, name: str, before: pl.Series, mark: Mark) -> tuple[pl.Series, dict[int, str]]:
    """What would be kept of the first cells of a column, as text."""
    written = part.written.get(name, AS_IN_THE_CONTRACT)
    cells = said(before, written)
    if name == "site_id" or written.keyed:
        return _coded(cells, cells.is_not_null()), {}
    if name == "crew_id":
        return _coded(cells, ~cells.str.contains(r"^[A-Za-z0-9-]*\d[A-Za-z0-9-]*$")), {}
    column, mask = TABLES[part.table].columns()[name], part.days.get(name)
    values, faults = typed(
        cells,
        column,
        written,
        mark=mark,
        is_day=None if mask is None else mask.head(len(before)),
        day_zero=part.day_zero,
    )
    return values.cast(pl.String), faults


def _coded(cells: pl.Series, which: pl.Series) -> pl.Series:
    return cells.set(which.fill_null(value=False), CODED)


def _rows(part: Sheet, name: str, before: pl.Series, after: pl.Series, faults: dict[int, str]) -> pl.DataFrame:
    count = len(before)
    return pl.DataFrame(
        {
            "table": [part.table] * count,
            "row": part.numbers.head(count),
            "column": [name] * count,
            "before": before,
            "after": after,
            "fault": [faults.get(place) for place in range(count)],
        },
        schema=PREVIEW,
    )

"""Workbooks to sheets of text: the values as kept, days as days, errors and formulas without a value as faults."""

from collections.abc import Collection
from dataclasses import dataclass

import fastexcel
import polars as pl

from analytics.errors import UnreadableFileError
from analytics.intake.archive import pack, unpack
from analytics.intake.header import find_header, name_columns
from analytics.intake.limits import HEAD_ROWS, MOST_COLUMNS
from analytics.intake.markings import Markings, Place, day_zero, markings, refuse_heavy_strings, sheet_parts
from analytics.intake.sheet import FAULTS, Sheet
from analytics.intake.sources import Source

DAY = r"^\d{4}-\d{2}-\d{2} \d{2}:\d{2}:\d{2}"
ERRORS = {"Div0": "#DIV/0!", "NA": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!"}
UNWORKED = "the cell holds a formula that was never worked out; open the workbook, save it and load it again"
ACROSS = "the cell is merged with the one on its left; unmerge them and give each its own value"


@dataclass(frozen=True)
class Grid:
    """A sheet's cells from the first row and its first filled column, before its header is found.

    ``cells`` are text in columns ``0``, ``1`` …; ``days`` masks of the real days, by column; ``faults`` reasons by
    (row, column) from 0; ``across`` the places of cells merged over several columns: row, first and last column.
    """

    name: str
    cells: pl.DataFrame
    days: dict[str, pl.Series]
    faults: dict[Place, str]
    across: tuple[tuple[int, int, int], ...] = ()


def read_workbook(source: Source, known: Collection[str]) -> list[Sheet]:
    """Every sheet of a workbook that holds anything; UnreadableFileError for a damaged one, a locked one or a bomb."""
    parts = unpack(source.content, source.file)
    refuse_heavy_strings(parts, source.file)
    marks = {name: markings(part, source.file) for name, part in sheet_parts(parts).items()}
    try:
        reader = fastexcel.read_excel(pack(parts))
        grids = [_grid(reader, name, marks.get(name, Markings())) for name in reader.sheet_names]
    except (fastexcel.FastExcelError, pl.exceptions.PolarsError, ValueError) as error:
        raise UnreadableFileError(f"{source.file}: cannot be read as a workbook; save it again as .xlsx") from error
    filled = [grid for grid in grids if grid is not None]
    if not filled:
        raise UnreadableFileError(f"{source.file}: empty; the first row must hold the column names")
    return [_sheet(source, grid, known, day_zero(parts), alone=len(filled) == 1) for grid in filled]


def _grid(reader: fastexcel.ExcelReader, name: str, marks: Markings) -> Grid | None:
    """The cells of one sheet; None where it holds nothing."""
    sheet = reader.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
    if not sheet.width or not sheet.height:
        return None
    if sheet.width > MOST_COLUMNS:
        raise ValueError(f"{sheet.width} columns")
    first = sheet.selected_columns[0].absolute_index
    _, errors = sheet.to_arrow_with_errors()
    faults = {error.position: _error(error.detail) for error in (errors.errors if errors else ())}
    faults |= {(row, column - first): UNWORKED for row, column in marks.unworked}
    cells = sheet.to_polars()
    cells.columns = [str(i) for i in range(cells.width)]
    grid = Grid(name, cells, _days(reader, name, cells), faults)
    return _merged(grid, marks, first)


def _error(detail: str) -> str:
    kind = next((shown for kept, shown in ERRORS.items() if f"Error({kept})" in detail), "an error")
    return f"the spreadsheet shows {kind} here; mend the formula or empty the cell"


def _days(reader: fastexcel.ExcelReader, name: str, cells: pl.DataFrame) -> dict[str, pl.Series]:
    """Which cells are days to the spreadsheet itself: read as a day they have a value, read as a number none."""
    asked = [i for i, column in enumerate(cells) if column.str.contains(DAY).any()]
    if not asked:
        return {}
    found = {}
    days, numbers = (
        reader.load_sheet(name, header_row=None, skip_rows=0, dtypes=kind, use_columns=asked).to_polars()
        for kind in ("datetime", "float")
    )
    for place, i in enumerate(asked):
        found[str(i)] = days.to_series(place).is_not_null() & numbers.to_series(place).is_null()
    return found


def _merged(grid: Grid, marks: Markings, first: int) -> Grid:
    """The grid with each cell merged downwards filled down, and those merged across named."""
    height, width = grid.cells.height, grid.cells.width
    down: dict[int, list[tuple[int, int]]] = {}
    across = []
    for (top, left), (bottom, right) in marks.merged:
        start, end = left - first, min(right - first, width - 1)
        if not 0 <= start < width or top >= height:
            continue
        down.setdefault(start, []).append((top, min(bottom, height - 1)))
        if end > start:
            across += [(row, start, end) for row in range(top, min(bottom, height - 1) + 1)]
    cells, days = grid.cells, dict(grid.days)
    for column, spans in down.items():
        places = [row for top, bottom in spans for row in range(top + 1, bottom + 1)]
        origins = [top for top, bottom in spans for _ in range(top + 1, bottom + 1)]
        text = cells.to_series(column)
        cells = cells.with_columns(text.scatter(places, text.gather(origins)))
        if (mask := days.get(str(column))) is not None:
            days[str(column)] = mask.scatter(places, mask.gather(origins))
    return Grid(grid.name, cells, days, grid.faults, tuple(across))


def _sheet(source: Source, grid: Grid, known: Collection[str], zero: int, *, alone: bool) -> Sheet:
    """The grid below its header."""
    file = source.file if alone else f"{source.file} ({grid.name})"
    cells = grid.cells.fill_null("")
    head = [list(row) for row in cells.head(HEAD_ROWS).iter_rows()]
    for row, start, end in grid.across:
        if row < len(head):
            head[row][start : end + 1] = [head[row][start]] * (end + 1 - start)
    at = find_header(head, known, file)
    names = dict(zip(cells.columns, name_columns(head, at, known, file), strict=True))
    faults = [(row + 1, names[str(column)], reason) for (row, column), reason in grid.faults.items() if row > at]
    faults += [(row + 1, names[str(start + 1)], ACROSS) for row, start, _ in grid.across if row > at]
    body = cells.slice(at + 1)
    faulty = pl.Series([row for row, _, _ in faults], dtype=pl.Int64)
    numbers = pl.int_range(at + 2, at + 2 + body.height, dtype=pl.Int64, eager=True)
    blank = body.select(pl.all_horizontal(pl.all().str.strip_chars() == "")).to_series()
    filled = ~blank | numbers.is_in(faulty.implode())
    return Sheet(
        (grid.name, source.stem) if alone else (grid.name,),
        file,
        source.sha256,
        body.rename(names).filter(filled),
        numbers.filter(filled),
        {names[column]: mask.slice(at + 1).filter(filled) for column, mask in grid.days.items()},
        zero,
        pl.DataFrame(faults, schema=FAULTS, orient="row"),
    )

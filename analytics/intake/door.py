"""From files to a checked batch: each row clean or rejected with its reasons, none lost."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from functools import partial

import dataframely as dy
import polars as pl

from analytics.contract.batch import FAULT_COLUMNS, REJECT_COLUMNS, Batch, CheckedTable, FileRead
from analytics.contract.tables import TABLES
from analytics.intake import checking
from analytics.intake.accepting import only_accepted
from analytics.intake.counted import check_counted
from analytics.intake.discretion import keepable
from analytics.intake.distinct import come_again, spread, told_apart
from analytics.intake.known import Known
from analytics.intake.maps.applying import apply
from analytics.intake.maps.column_map import ColumnMap
from analytics.intake.mending import WORK_COLUMNS, WORK_LIST, Mended, is_work_list
from analytics.intake.naming import KNOWN, as_named
from analytics.intake.nearest import nearest
from analytics.intake.pricing_units import not_sold_by
from analytics.intake.privacy import Keyring
from analytics.intake.reading import read_source
from analytics.intake.referring import check_references
from analytics.intake.sheet import AS_IN_THE_CONTRACT, Mark, Sheet, plain
from analytics.intake.sources import Source
from analytics.intake.typing_cells import coded, said, settle, typed

AT_ONCE = 2
"""Files read and tables typed beside each other: of large ones there are two, jobs and cracks."""
CODED = {("jobs", "site_id"): Keyring.site_codes, ("jobs", "crew_id"): Keyring.crew_codes}


def read_sources(sources: Iterable[Source], column_map: ColumnMap | None = None) -> list[Sheet]:
    """The sheets of opened files, each of one of our tables or a work list of rejected rows to be mended.

    One clear error where a file cannot be used.
    """
    known = KNOWN | set(WORK_COLUMNS) | (set(map(plain, column_map.headers)) if column_map else set())
    with ThreadPoolExecutor(AT_ONCE) as pool:
        found = pool.map(lambda source: _sheets(source, known, column_map), sources)
        return [sheet for sheets in found for sheet in sheets]


def _sheets(source: Source, known: Collection[str], column_map: ColumnMap | None) -> list[Sheet]:
    found = []
    for sheet in read_source(source, known):
        if is_work_list(sheet):
            found.append(replace(sheet, table=WORK_LIST))
        else:
            found += apply(column_map, sheet) if column_map else [as_named(sheet)]
    return found


def check(
    sheets: Iterable[Sheet], keyring: Keyring, known: Known, *, today: date, mended: Mended | None = None
) -> Batch:
    """Type, code and check the sheets.

    Args:
        sheets: as read.
        keyring: turns sites and personal crew names into codes.
        known: the store's rows that new rows may refer to.
        today: the load date; nothing recorded can be later.
        mended: rows rejected before, from the work lists among the sheets, and those that wait on.

    Returns:
        The batch; for every table, rows read = clean + repeated + rejected.
    """
    sheets = list(sheets)
    tables: dict[str, CheckedTable] = {}
    mended = mended or Mended()
    brought = {name: [sheet for sheet in (*sheets, *mended.sheets) if sheet.table == name] for name in TABLES}
    with ThreadPoolExecutor(AT_ONCE) as pool:
        drafts = {name: pool.submit(_drafted, rows, keyring, today) for name, rows in brought.items() if rows}
        for name in TABLES:  # in the order in which they refer to each other
            settled = mended.settled.get(name, 0)
            if not brought[name] and not settled:
                continue
            table = CheckedTable((), read=0)
            if brought[name]:
                table = _checked(drafts.pop(name).result(), brought[name], known, today, mended)
            named = mended.named.filter(pl.col("table") == name)
            tables[name] = replace(
                table,
                read=table.read + settled,
                repeated=table.repeated + settled,
                waiting=pl.concat([table.waiting, named]),
            )
            for part in table.parts:
                known = known.with_rows(name, part.rows)
    files = tuple(FileRead(sheet.table, sheet.file, sheet.sha256) for sheet in sheets)
    dropped = {column for sheet in sheets for column in sheet.dropped}
    return Batch(tables, files, tuple(sorted(dropped)), mended.rows)


def _drafted(sheets: list[Sheet], keyring: Keyring, today: date) -> checking.Draft:
    """The sheets of one table typed, and held to all that no other table has a say in."""
    draft = checking.merge([typed_sheet(sheet, keyring) for sheet in sheets])
    draft = checking.check_keys(checking.check_sums(draft))
    return checking.check_days(checking.check_rows(draft), today)


def _checked(draft: checking.Draft, sheets: list[Sheet], known: Known, today: date, mended: Mended) -> CheckedTable:
    """The sheets of one table, drafted, held to other tables as well."""
    draft = check_references(draft, known)
    draft = checking.check_mended(check_counted(draft, sheets, known), mended, known)
    table = checking.finish(draft, sum(sheet.cells.height for sheet in sheets), mended)
    return replace(table, rejects=only_accepted(_with_cells(table.rejects, sheets), draft, known, today))


def typed_sheet(sheet: Sheet, keyring: Keyring) -> checking.Draft:
    """A sheet's cells in the contract's types, with the faults met on the way."""
    declared = TABLES[sheet.table].columns()
    mark = settle(sheet)
    columns, faults = [], [sheet.faults]
    for name, column in declared.items():
        if name in sheet.cells.columns:
            values, found = _typed_column(sheet, name, column, keyring, mark)
            faults.append(found)
        else:
            values = pl.repeat(None, sheet.cells.height, dtype=column.dtype, eager=True).alias(name)
        columns.append(values)
    if sheet.table == "rates":
        faults.append(_not_sold_by(sheet, columns))
    lacks = checking.lacking(set(declared) - set(sheet.cells.columns))
    place = (pl.lit(sheet.file).alias("file"), sheet.numbers.alias("row"), pl.lit(lacks).alias("lacks"))
    frame = pl.DataFrame(columns).with_columns(*place)
    every = pl.concat(faults).with_columns(pl.lit(sheet.table).alias("table"), pl.lit(sheet.file).alias("file"))
    frame = frame.with_columns(_as_written(sheet, every))
    return checking.Draft(sheet.table, frame, every.select(list(FAULT_COLUMNS)))


def _not_sold_by(sheet: Sheet, columns: Sequence[pl.Series]) -> pl.DataFrame:
    """The faults of amounts that are the price of one of a unit that their item is not sold by.

    Of those that could be read: what is wrong with the others is said already.
    """
    if "amount" not in sheet.cells.columns:
        return sheet.faults.clear()
    typed_as = {column.name: column for column in columns}
    amounts = sheet.cells["amount"].set(typed_as["amount"].is_null(), None)
    return _found(sheet, "amount", not_sold_by(typed_as["item"], amounts))


def _found(sheet: Sheet, name: str, reasons: Mapping[int, str]) -> pl.DataFrame:
    """Faults of one column: row, column, reason."""
    rows = sheet.numbers.gather(list(reasons))
    found = pl.DataFrame({"row": rows, "column": [name] * len(reasons), "reason": list(reasons.values())})
    return found.cast(pl.Schema(sheet.faults.schema))


def _as_written(sheet: Sheet, faults: pl.DataFrame) -> pl.Series:
    """The cells of each row that could not be read whole, to tell such rows apart; null for the others.

    A row whose cells may have shifted is told apart from every other one, by its place.
    """
    if faults.is_empty():
        return pl.repeat(None, sheet.cells.height, dtype=pl.String, eager=True).alias("unread")
    faulty = sheet.numbers.is_in(faults["row"].implode())
    cells, numbers = sheet.cells.filter(faulty), sheet.numbers.filter(faulty)  # the others' cells are not put together
    shifted = faults.filter(pl.col("column") == "")["row"]
    names = [name for name in TABLES[sheet.table].column_names() if name in sheet.cells.columns]
    parts = (pl.lit(f"{name}:") + pl.col(name).fill_null("").str.strip_chars() for name in names)
    place = pl.format("{} {}", pl.lit(sheet.file), numbers)
    said = pl.when(numbers.is_in(shifted.implode())).then(place).otherwise(pl.concat_str(*parts, separator="\0"))
    unread = cells.select(said.alias("unread")).to_series()
    return unread.gather((faulty.cum_sum().cast(pl.Int64) - 1).set(~faulty, None))


def _typed_column(
    sheet: Sheet, name: str, column: dy.Column, keyring: Keyring, mark: Mark
) -> tuple[pl.Series, pl.DataFrame]:
    """One column's values and faults (row, column, reason); names and sites coded before anything looks at them."""
    written = sheet.written.get(name, AS_IN_THE_CONTRACT)
    is_day = sheet.days.get(name)
    texts, places = sheet.cells[name], None
    if is_day is None and come_again(texts):
        texts, places = told_apart(texts)
    cells = said(texts, written)
    coder = CODED.get((sheet.table, name)) or (_keyed(name) if written.keyed else None)
    if coder:
        cells = coded(cells, partial(coder, keyring), is_day)
    values, reasons = typed(cells, column, written, mark=mark, is_day=is_day, day_zero=sheet.day_zero)
    if places is not None:
        values, reasons = spread(values, reasons, places)
    return values, _found(sheet, name, reasons)


def _keyed(name: str) -> Callable[[Keyring, pl.Series], pl.Series]:
    """What replaces a key that is no code: a keyed code of its own kind."""
    return lambda keyring, cells: keyring.codes(cells, name.removesuffix("_id"))


def _with_cells(faults: pl.DataFrame, sheets: Iterable[Sheet]) -> pl.DataFrame:
    """The faults with the cell as it was written, where it cannot be anybody's, and what it seems to mean."""
    if faults.is_empty():
        return faults.with_columns(cell=pl.lit(None, pl.String), nearest=pl.lit(None, pl.String))
    kinds = {name: REJECT_COLUMNS[name] for name in ("file", "row", "column", "cell")}
    written = [pl.DataFrame(schema={**kinds, "unit": pl.String})]
    for sheet in sheets:
        of_sheet = faults.filter(pl.col("file") == sheet.file)
        names = [name for name in of_sheet["column"].unique() if name in sheet.headers]
        if names:
            cells = sheet.cells.select(names).with_columns(row=sheet.numbers, file=pl.lit(sheet.file))
            cells = cells.filter(pl.col("row").is_in(of_sheet["row"].implode()))
            cells = cells.unpivot(names, index=["file", "row"], variable_name="column", value_name="cell")
            units = {name: sheet.written.get(name, AS_IN_THE_CONTRACT).unit for name in names}
            written.append(cells.with_columns(unit=pl.col("column").replace_strict(units, return_dtype=pl.String)))
    joined = faults.join(pl.concat(written), on=["file", "row", "column"], how="left", maintain_order="left")
    return _discreet(joined)


def _discreet(faults: pl.DataFrame) -> pl.DataFrame:
    """Faults with cells: each cell kept only where it may be, with what it seems to mean."""
    pairs = faults.select("table", "column", "cell", "unit").unique().drop_nulls("cell")
    told = [_of_column(part) for part in pairs.partition_by("table", "column", "unit", maintain_order=True)]
    pairs = pl.concat([pairs.clear().with_columns(kept=pl.col("cell"), nearest=pl.col("cell")), *told])
    joined = faults.join(pairs, on=["table", "column", "cell", "unit"], how="left", maintain_order="left")
    return joined.with_columns(cell=pl.col("kept")).select(list(REJECT_COLUMNS)).cast(pl.Schema(REJECT_COLUMNS))


def _of_column(pairs: pl.DataFrame) -> pl.DataFrame:
    """The faulty cells of one column and unit, each with what of it may be kept and what it seems to mean."""
    table, name, unit = pairs.select("table", "column", "unit").row(0)
    column = TABLES[table].columns()[name]
    cells = (cell.strip() for cell in pairs["cell"])
    kept = pl.Series([cell if cell and keepable(cell, column) else None for cell in cells], dtype=pl.String)
    may = kept.drop_nulls()
    near = dict(zip(may, nearest(may, column, unit), strict=True))
    return pairs.with_columns(kept=kept, nearest=pl.Series([near.get(cell) for cell in kept], dtype=pl.String))

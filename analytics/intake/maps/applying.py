"""A column map applied: a business's sheet as our tables, their headers ours, their cells as they wrote them."""

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from fnmatch import fnmatchcase

import polars as pl

from analytics.contract.tables import TABLES
from analytics.errors import MapError
from analytics.intake.days import SEEM_SWAPPED, hold_late_days, look_swapped, swapped_back
from analytics.intake.known import SIZES
from analytics.intake.maps.column_map import COUNTER, SLOT, Block, ColumnMap, Origin
from analytics.intake.maps.filling import filled_down, pointed_out, sums_up, uncounted
from analytics.intake.naming import as_named, dropped, renamed_faults, said_header, table_of
from analytics.intake.pricing_units import taken_apart
from analytics.intake.sheet import Sheet, Written, plain

Headers = Mapping[str, str]
"""The sheet's headers by how they are plainly written."""


def apply(column_map: ColumnMap, sheet: Sheet) -> list[Sheet]:
    """The sheet as one sheet a table and block of the map; a sheet no block takes is read by our own names.

    Raises:
        MapError: the sheet lacks a header that the map names, or is in no section and has no name of ours.
    """
    if any(_is_named(sheet, pattern) for pattern in column_map.ignore):
        return []
    taken = [
        (table, block, place)
        for table, blocks in column_map.tables.items()
        for place, block in enumerate((b for b in blocks if _takes(table, b, sheet)), start=1)
    ]
    if not taken:
        if table_of(sheet) is None:
            raise MapError(
                f"{sheet.file}: no section of the column map takes the sheet {sheet.names[0]!r}; "
                f"name it under from = in one, or in ignore = at the top"
            )
        return [as_named(sheet)]
    headers = {plain(header): header for header in sheet.headers}
    left = dropped(sheet, {headers[plain(name)] for _, block, _ in taken for name in _named(block, headers, sheet)})
    counts = [[plain(name) for origin in block.columns.values() for name in origin.headers] for _, block, _ in taken]
    sizes = [headers[plain(name)] for table, block, _ in taken for name in _sizes(table, block)]
    once = [headers[plain(name)] for _, block, _ in taken for name in block.fill_down]
    jobs = [_job(block, headers) for _, block, _ in taken]
    summing = {job: sums_up(sheet, job, once, sizes) for job in dict.fromkeys(jobs)}
    found: list[Sheet] = []
    for i, (table, block, place) in enumerate(taken):
        others = {name for j, names in enumerate(counts) if j != i for name in names}
        down = [headers[plain(name)] for name in block.fill_down]
        job, sums = jobs[i], summing[jobs[i]]
        made = _made(column_map, table, block, filled_down(sheet, down, sums.is_not_null()), others)
        if job and sums.count():
            told = replace(sheet, faults=pointed_out(sheet, job, sums, made.numbers))
            made = _with_faults(made, block, job, renamed_faults(told, _direct(block, headers)))
        file = sheet.file if place == 1 else f"{sheet.file} [{table} {place}]"
        found.append(replace(made, file=file, dropped=left if not found else ()))
    return found


def _is_named(sheet: Sheet, pattern: str) -> bool:
    return any(fnmatchcase(plain(name), plain(pattern)) for name in sheet.names)


def _takes(table: str, block: Block, sheet: Sheet) -> bool:
    """Whether a block is about a sheet: it names it, or names none and the sheet names no other table of ours."""
    if block.sheets:
        return any(_is_named(sheet, pattern) for pattern in block.sheets)
    return table_of(sheet) in {None, table}


def _job(block: Block, headers: Headers) -> str | None:
    """The header of a job's number, where the block fills it down."""
    down = {plain(name) for name in block.fill_down}
    names = block.columns["job_id"].headers if "job_id" in block.columns else []
    return next((headers[plain(name)] for name in names if plain(name) in down), None)


def _sizes(table: str, block: Block) -> list[str]:
    origins = (origin for ours, origin in block.columns.items() if table == "cracks" and ours in SIZES)
    return [name for origin in origins for name in origin.headers]


def _named(block: Block, headers: Headers, sheet: Sheet) -> list[str]:
    """Every header a block names; MapError where the sheet has it not."""
    wanted = [(name, ours) for ours, origin in block.columns.items() for name in origin.headers]
    for name, ours in [*wanted, *((name, "fill_down") for name in block.fill_down)]:
        if plain(name) not in headers:
            near = get_close_matches(plain(name), headers, n=1, cutoff=0.5)
            there = ", ".join(said_header(header) for header in sheet.headers)
            hint = f"did you mean {said_header(headers[near[0]])}?" if near else f"it has {there}"
            raise MapError(f"{sheet.file} has no column {name!r}, which the column map names for {ours}: {hint}")
    return [name for name, _ in wanted]


def _made(column_map: ColumnMap, table: str, block: Block, sheet: Sheet, others: set[str]) -> Sheet:
    """The rows of one block. A row in which every header of its own is blank is no row of this table.

    ``others`` are the headers that other blocks use too.
    """
    headers = {plain(header): header for header in sheet.headers}
    named = {headers[plain(name)] for origin in block.columns.values() for name in origin.headers}
    own = [header for header in named if plain(header) not in others] or list(named)
    direct = _direct(block, headers)
    faults = renamed_faults(sheet, direct)
    blank = pl.all_horizontal(pl.col(header).str.strip_chars() == "" for header in own) if own else pl.lit(value=False)
    kept = sheet.cells.select(~blank).to_series() | sheet.numbers.is_in(faults["row"].implode())
    cells = sheet.cells.filter(kept)
    written = {ours: column_map.written(origin) for ours, origin in block.columns.items()}
    columns = [
        _unswapped(sheet.file, ours, origin, _column(origin, cells, headers), written[ours]).alias(ours)
        for ours, origin in block.columns.items()
    ]
    if table == "rates":
        columns, written = _priced(columns, written)
    return replace(
        sheet,
        table=table,
        cells=pl.DataFrame(columns) if cells.height else pl.DataFrame(schema=dict.fromkeys(block.columns, pl.String)),
        numbers=sheet.numbers.filter(kept),
        days={ours: sheet.days[header].filter(kept) for header, ours in direct if header in sheet.days},
        faults=faults,
        written=written,
        following=_following(table, block, cells, headers),
    )


def _priced(columns: list[pl.Series], written: dict[str, Written]) -> tuple[list[pl.Series], dict[str, Written]]:
    """Amounts with the unit that the word for their item names, where they name none; that word without it."""
    items, amounts = (next((each for each in columns if each.name == name), None) for name in ("item", "amount"))
    if items is None or amounts is None:
        return columns, written
    apart = {theirs: taken_apart(ours) for theirs, ours in written["item"].words.items()}
    told = {cell: f" per {apart[plain(cell)][1]}" for cell in items.unique() if apart.get(plain(cell), ("", ""))[1]}
    behind = items.replace_strict(told, default="", return_dtype=pl.String)
    own = pl.Series([not amount.strip() or bool(taken_apart(amount)[1]) for amount in amounts], dtype=pl.Boolean)
    said = (amounts + behind).zip_with(~own, amounts).alias("amount")
    words = {theirs: item for theirs, (item, _) in apart.items()}
    return [said if each.name == "amount" else each for each in columns], written | {
        "item": replace(written["item"], words=words)
    }


def _with_faults(made: Sheet, block: Block, job: str, faults: pl.DataFrame) -> Sheet:
    """The rows with the faults of those left without a job; a key that is counted by the job says so too."""
    key = TABLES[made.table].primary_key()[0]
    by_job = made.following is not None and plain(job) in map(plain, block.columns[key].headers)
    more = [uncounted(faults, key, job)] if by_job else []
    return replace(made, faults=pl.concat([made.faults, faults, *more]))


def _following(table: str, block: Block, cells: pl.DataFrame, headers: Headers) -> pl.Series | None:
    """For keys that are counted, the key that one more row like each would have."""
    origin = block.columns[TABLES[table].primary_key()[0]]
    counted = origin.template and COUNTER in SLOT.findall(origin.template)
    return _from_template(origin, cells, headers, pl.len() + 1) if counted else None


def _direct(block: Block, headers: Headers) -> list[tuple[str, str]]:
    """The sheet's headers that are a column of ours as they are, with that column."""
    return [(headers[plain(o.header)], ours) for ours, o in block.columns.items() if o.header is not None]


def _column(origin: Origin, cells: pl.DataFrame, headers: Headers) -> pl.Series:
    """One of our columns as text, made of theirs."""
    if origin.header is not None:
        return cells[headers[plain(origin.header)]]
    if origin.constant is not None:
        return pl.repeat(origin.constant, cells.height, dtype=pl.String, eager=True)
    return _from_template(origin, cells, headers)


def _unswapped(file: str, ours: str, origin: Origin, cells: pl.Series, written: Written) -> pl.Series:
    """Cells with day and month as they were meant; MapError where the map does not say, or what it says cannot be."""
    bare, named = cells.str.strip_chars(), origin.header or ours
    if origin.days_swapped:
        if hold_late_days(bare):
            raise MapError(
                f"{file}: {named} holds days after the 12th, so it was not swapped; "
                f"say days_swapped = false for this file"
            )
        return swapped_back(bare)
    if origin.days_swapped is None and look_swapped(bare, written.day_format):
        raise MapError(
            f"{file}: in {named}, {SEEM_SWAPPED}; say days_swapped = true for {ours} in the column map to have them "
            f"swapped back, or false if they are right"
        )
    return cells


def _from_template(origin: Origin, cells: pl.DataFrame, headers: Headers, counter: pl.Expr | None = None) -> pl.Series:
    """The template filled; blank where any cell it needs is blank. ``counter`` counts alike rows, else 1, 2, 3."""
    pieces = SLOT.split(str(origin.template))
    texts = [
        (pl.col(headers[plain(piece)]).str.strip_chars() if piece != COUNTER else pl.lit(""))
        if i % 2
        else pl.lit(piece)
        for i, piece in enumerate(pieces)
    ]
    needed = [pl.col(headers[plain(name)]).str.strip_chars() != "" for name in origin.headers]
    frame = cells.select(
        *(text.alias(str(i)) for i, text in enumerate(texts)),
        pl.all_horizontal(needed).alias("whole") if needed else pl.lit(value=True).alias("whole"),
    )
    parts = [str(i) for i in range(len(pieces))]
    frame = frame.with_columns(pl.concat_str(parts, separator="\0").alias("alike"))
    count = (pl.col("alike").cum_count() if counter is None else counter).over("alike").cast(pl.String)
    counted = [count if pieces[i] == COUNTER and i % 2 else pl.col(str(i)) for i in range(len(pieces))]
    return frame.select(pl.when("whole").then(pl.concat_str(counted)).otherwise(pl.lit(""))).to_series()

"""Text cells to the contract's types; a cell that cannot be read is named, never guessed."""

import re
from collections.abc import Callable
from datetime import date
from difflib import get_close_matches

import dataframely as dy
import polars as pl

from analytics.contract.descriptions import blank_means, unit
from analytics.contract.tables import TABLES
from analytics.intake.days import (
    CODES,
    COUNTED_FROM,
    DAY_NUMBERS,
    FIRST_YEAR,
    ISO,
    LAST_YEAR,
    days,
    in_doubt,
    other_order,
)
from analytics.intake.discretion import PHONE_DIGITS, shown
from analytics.intake.numerals import (
    LEAST_OF_THREE,
    READ_OF_THREE,
    is_ambiguous,
    is_settled,
    numbers,
    of_money,
    settle_mark,
)
from analytics.intake.pricing_units import prices
from analytics.intake.privacy import OUR_CODE
from analytics.intake.sheet import AS_IN_THE_CONTRACT, Mark, Sheet, Written, plain
from analytics.intake.units import IN_A_MAP, TIME_OF_DAY, UNITS, converted

TRUE_WORDS, FALSE_WORDS = ("true", "yes", "y", "t", "1"), ("false", "no", "n", "f", "0")
ERROR_TEXT = r"^#(N/A|REF!|DIV/0!|VALUE!|NAME\?|NUM!|NULL!|SPILL!|CALC!)$"
FRACTION = re.compile(r"\d\s*[/⁄]\s*\d|[½¼¾⅛⅜⅝⅞⅓⅔]")
EXACT_WHOLE = 2**53
EXAMPLE_DAY = date(2026, 3, 31)
QUANTITIES = (pl.Float64, pl.Int64, pl.Decimal)
PRIVATE_TEXT = rf"@|(?:\d[^A-Za-z]{{0,3}}){{{PHONE_DIGITS},}}"
"""A mail address, or digits enough for a telephone number, in the name of a branch."""
TURNED = (
    "was turned into a day by the spreadsheet, perhaps from a fraction such as 1/8; make the column text and retype"
)
Faults = dict[int, str]


def typed(
    texts: pl.Series,
    column: dy.Column,
    written: Written = AS_IN_THE_CONTRACT,
    *,
    mark: Mark = "point",
    is_day: pl.Series | None = None,
    day_zero: int | None = None,
) -> tuple[pl.Series, Faults]:
    """A column of text as the contract's type, and why each unreadable cell could not be read.

    Args:
        texts: cells as ``said`` gives them; blank means not recorded.
        column: the contract's declaration.
        written: how the cells are written.
        mark: the decimal mark of the sheet, where ``written`` has none of its own.
        is_day: which cells the spreadsheet itself holds as days.
        day_zero: added to a plain number to make it days since 1899-12-30; None where numbers are not days.

    Returns:
        Values (null where blank or unreadable), and reasons by position.
    """
    cells = said(texts)
    mark = written.mark or mark
    turned = _turned(cells, column, written, is_day)
    readable = cells.set(cells.str.contains(ERROR_TEXT).fill_null(value=False) | turned, None)
    settled = isinstance(column.dtype, pl.Decimal) and (written.mark is not None or is_settled(readable, mark))
    values = _values(readable, column, written, mark, day_zero, settled).rename(texts.name)
    reasons: dict[tuple[str, bool], str] = {}
    faults = {}
    for position in (cells.is_not_null() & values.is_null()).arg_true().to_list():
        found = (cells[position], bool(turned[position]))
        if found not in reasons:
            reasons[found] = _why_not(*found, column, written, mark, settled)
        faults[position] = reasons[found]
    return values, faults


def settle(sheet: Sheet) -> Mark:
    """The decimal mark of a sheet of one of our tables, from its columns of numbers."""
    declared = TABLES[sheet.table].columns()
    return settle_mark(sheet.cells[name] for name in sheet.headers if isinstance(declared[name].dtype, QUANTITIES))


def said(texts: pl.Series, written: Written = AS_IN_THE_CONTRACT) -> pl.Series:
    """Cells without spaces around them, null where blank; the business's own words replaced by ours."""
    cells = texts.str.strip_chars()
    cells = cells.set(cells == "", None)
    ours: dict[str, str | None] = {**dict.fromkeys(written.blank), **written.words}
    if not ours:
        return cells
    replaced = {cell: ours[plain(cell)] or None for cell in cells.drop_nulls().unique() if plain(cell) in ours}
    return cells.replace(replaced) if replaced else cells


def coded(cells: pl.Series, coder: Callable[[pl.Series], pl.Series], is_day: pl.Series | None = None) -> pl.Series:
    """Cells as codes before anything looks at them; an error of the spreadsheet, or a day of its, stays one."""
    unfit = cells.str.contains(ERROR_TEXT).fill_null(value=False) | (False if is_day is None else is_day)
    return cells.zip_with(unfit, coder(cells.set(unfit, None)))


def _turned(cells: pl.Series, column: dy.Column, written: Written, is_day: pl.Series | None) -> pl.Series:
    """Which cells are days to the spreadsheet where ours is no column of days, nor of hours kept as a time."""
    if is_day is None or isinstance(column.dtype, pl.Date):
        return pl.repeat(value=False, n=len(cells), eager=True)
    return is_day & ~cells.str.contains(TIME_OF_DAY.pattern) if written.unit else is_day


def _values(
    cells: pl.Series, column: dy.Column, written: Written, mark: Mark, day_zero: int | None, settled: bool
) -> pl.Series:
    """Cells in the column's type; null where a cell cannot be read.

    ``settled``: three digits behind the one mark of an amount are known to be decimals.
    """
    match column.dtype:
        case pl.Enum() as words:
            said = cells.str.to_lowercase().str.replace_all(r"[\s-]+", "_")
            return said.set(~said.is_in(words.categories.to_list()), None).cast(words)
        case pl.Boolean():
            known = {**dict.fromkeys(TRUE_WORDS, True), **dict.fromkeys(FALSE_WORDS, False)}
            return cells.str.to_lowercase().replace_strict(known, default=None, return_dtype=pl.Boolean)
        case pl.Date():
            read = days(cells, written.day_format, day_zero)
            return read.set(in_doubt(cells, read, written.day_format), None)
        case pl.String():
            return _codes(cells, column)
        case _ if written.unit:
            return _quantities(_converted(cells, column, written, mark), column.dtype)
        case _:
            return _quantities(_numbers(cells, column, written, mark), column.dtype, settled=settled)


def _numbers(cells: pl.Series, column: dy.Column, written: Written, mark: Mark) -> pl.Series:
    """Plain numbers, and prices of one of another unit where the column holds such."""
    thousands = written.mark is not None
    read = numbers(cells, mark, signs=written.loose, thousands=thousands)
    per = (column.metadata or {}).get("per")
    if not written.loose or not per:
        return read
    found = read.is_not_null()
    return read.zip_with(found, prices(cells.set(found, None), per, mark, thousands=thousands))


def _converted(cells: pl.Series, column: dy.Column, written: Written, mark: Mark) -> pl.Series:
    return converted(cells, written.unit, unit(column), mark, thousands=written.mark is not None)


def _codes(cells: pl.Series, column: dy.Column) -> pl.Series:
    """Codes and short names; null where a cell is neither, so that free text goes no further."""
    if not isinstance(column, dy.String):
        return cells
    if column.regex:
        return cells.set(~cells.str.contains(column.regex), None)
    too_long = cells.str.len_chars() > (column.max_length or EXACT_WHOLE)
    private = cells.str.contains(PRIVATE_TEXT) & ~cells.str.contains(OUR_CODE.pattern)
    return cells.set(too_long | private, None)


def _quantities(found: pl.Series, dtype: pl.DataType, *, settled: bool = False) -> pl.Series:
    """Plain numbers as amounts, whole numbers or measurements; null rather than rounded or infinite."""
    if isinstance(dtype, pl.Decimal):
        exact = found.set(~found.str.contains(rf"^[+-]?[0-9]*\.?[0-9]{{0,{dtype.scale}}}0*$"), None)
        if dtype.scale < LEAST_OF_THREE and not settled:
            exact = exact.set(exact.str.contains(READ_OF_THREE), None)
        return exact.cast(dtype, strict=False)
    floats = found.cast(pl.Float64)
    if isinstance(dtype, pl.Int64):
        return floats.set((floats != floats.round()) | (floats.abs() > EXACT_WHOLE), None).cast(pl.Int64)
    return floats.set(floats.is_infinite(), None)


def _why_not(cell: str, turned: bool, column: dy.Column, written: Written, mark: Mark, settled: bool) -> str:
    """The sentence for a cell that is not of its column's kind."""
    name = shown(cell, column)
    if turned:
        return f"{name} {TURNED}"
    if re.search(ERROR_TEXT, cell):
        return f"{name} is an error of the spreadsheet; mend the formula or empty the cell"
    return f"{name} {_fault(cell, column, written, mark, settled)}"


def _fault(cell: str, column: dy.Column, written: Written, mark: Mark, settled: bool) -> str:
    match column.dtype:
        case pl.Enum() as dtype:
            words = dtype.categories.to_list()
            near = get_close_matches(plain(cell), words, n=1, cutoff=0.6)
            return f"is not one of {', '.join(words)}" + (f"; did you mean {near[0]}?" if near else "")
        case pl.Boolean():
            return "is neither true nor false; write true or false"
        case pl.Date():
            return _day_fault(cell, written.day_format)
        case pl.String():
            return _text_fault(column)
        case _:
            return _number_fault(cell, column, written, mark, settled)


def _day_fault(cell: str, day_format: str) -> str:
    """In the letters of a column map and by an example of which no other order makes another day."""
    if days(pl.Series([cell]), day_format).count():
        said, other = _letters(day_format), _letters(other_order(day_format))
        return (
            f"could be {said} or {other}: the column map says {said}, and other days of this column are only {other}; "
            f'say date_format = "{other}" for this column if all of it is written so, else write its days as 2026-03-31'
        )
    if re.search(ISO, cell):
        return f"is no day from {FIRST_YEAR} to {LAST_YEAR}, read as year-month-day; mend it"
    if day_format == DAY_NUMBERS:
        return f"is not a day number, as {(EXAMPLE_DAY - COUNTED_FROM).days} for {EXAMPLE_DAY}"
    letters = _letters(day_format)
    named = "" if "%" in letters else f"{letters or 'year-month-day'}, "
    return f"is not a day written {named}as {EXAMPLE_DAY.strftime(day_format or '%Y-%m-%d')}"


def _letters(day_format: str) -> str:
    for said, code in CODES.items():  # the longer of two for one code stands first
        day_format = day_format.replace(code, said)
    return day_format


def _either_amount(cell: str, thousands: str, decimal: str, *, settled: bool) -> str:
    """A third decimal other than 0 is not cut off for anybody: no number is proposed for such a cell."""
    in_map = f"decimal_comma = {'true' if '.' in cell else 'false'} in its column map"
    if decimal.endswith("0"):
        return (
            f"could be {thousands} or {decimal}, and an amount has at most 2 decimals; write {thousands}.00 or "
            f"{decimal[:-1]}, or where a file's thousands are written so, {in_map}"
        )
    fault = "has 3 digits behind its mark, and an amount has at most 2 decimals; round it"
    return fault if settled else f"{fault}, or where a file's thousands are written so, {in_map}"


def _number_fault(cell: str, column: dy.Column, written: Written, mark: Mark, settled: bool) -> str:
    match column.dtype:
        case pl.Decimal() as dtype if could_be := of_money(cell, dtype.scale):
            return _either_amount(cell, *could_be, settled=settled and ("," if mark == "comma" else ".") in cell)
        case _ if written.mark is None and is_ambiguous(cell, mark):
            return "could be a decimal number or thousands; write it with a decimal point, or say which in a column map"
        case pl.Decimal() as dtype:
            return f"is not an amount with a decimal point and at most {dtype.scale} decimals"
        case pl.Int64():
            other = _other_unit(column, written)
            whole = f"number of {other} that makes whole {unit(column)}; write one such as 2 {other}"
            return f"is not a {whole if other else 'whole number'}{_or_blank(column)}"
        case _ if written.unit:
            return f"is not a number of {written.unit}; write one such as 2.5 {_other_unit(column, written)}".rstrip()
        case _:
            kind = "is a fraction" if FRACTION.search(cell) else "is not a number"
            return f"{kind}; write it as a decimal number in {unit(column)}, without its unit"


def _or_blank(column: dy.Column) -> str:
    """What a blank cell says, where the contract has a meaning for it: it may be what a word in its place says."""
    means = blank_means(column)
    return f"; a blank cell means {means}" if means else ""


def _other_unit(column: dy.Column, written: Written) -> str:
    """The unit of the file where it is not the contract's: written behind a number, it is read wherever that stands."""
    return written.unit if written.unit in UNITS and written.unit != IN_A_MAP.get(unit(column)) else ""


def _text_fault(column: dy.Column) -> str:
    if isinstance(column, dy.String) and column.regex == r"^[A-Z]{3}$":
        return "is not a three-letter code such as USD"
    if isinstance(column, dy.String) and column.regex:
        return "is not a number or code without spaces, such as A-102; names and free text are not kept"
    return "is longer than 64 characters, or could be a telephone number or a mail address, which are not kept"

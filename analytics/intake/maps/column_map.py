"""A column map: for each of our columns, where it comes from in a business's file and how it is written there."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal, Self

import dataframely as dy
import polars as pl
from pydantic import ConfigDict, Field, ValidationError, field_validator, model_validator

from analytics.contract.declared import Declared
from analytics.contract.descriptions import unit as contract_unit
from analytics.contract.tables import TABLES
from analytics.errors import MapError
from analytics.intake.days import DAY_NUMBERS, day_codes, days
from analytics.intake.pricing_units import is_sold_by, other_unit, taken_apart
from analytics.intake.sheet import Written, plain
from analytics.intake.typing_cells import typed
from analytics.intake.units import scale

RATED = "rates.item"
"""Its words may name the unit that the amount beside them is the price of, as ``epoxy_litre per gal``."""
SLOT = re.compile(r"\{([^{}]+)\}")
COUNTER = "#"
"""``{#}`` in a template counts the rows that are otherwise alike: 1, 2, 3 in the order of the sheet."""


class Origin(Declared):
    """Where one of our columns comes from: a header of theirs, a template of several, or the same word in every row."""

    header: str | None = Field(default=None, description="their header")
    template: str | None = Field(default=None, description="text with {Their header} in it, {#} counts alike rows")
    constant: str | None = Field(default=None, description="the same value in every row")
    unit: str = Field(default="", description="the unit its numbers are in, such as in, ft, gal, hours, °F")
    date_format: str = Field(default="", description="such as DD/MM/YYYY")
    days_swapped: bool | None = Field(default=None, description="whether a spreadsheet took its days for months")
    decimal_comma: bool | None = Field(default=None, description="whether 1,5 is one and a half")
    words: dict[str, str] = Field(default_factory=dict, description='their words and ours; "" for not recorded')
    keyed: bool = Field(default=False, description="replace by a keyed code: for keys that are names or addresses")

    @model_validator(mode="after")
    def _one_origin(self) -> Self:
        given = [name for name in ("header", "template", "constant") if getattr(self, name) is not None]
        if len(given) != 1:
            raise ValueError("a column has either a header, a template or a constant")
        return self

    @property
    def headers(self) -> list[str]:
        """The headers it is made of."""
        if self.header is not None:
            return [self.header]
        return [name for name in SLOT.findall(self.template or "") if name != COUNTER]


class Block(Declared):
    """Rows of one of our tables, from the sheets that ``from`` names (``*`` stands for anything)."""

    model_config = ConfigDict(populate_by_name=True)

    sheets: tuple[str, ...] = Field(default=(), alias="from")
    fill_down: tuple[str, ...] = ()
    columns: dict[str, Origin]

    @field_validator("sheets", mode="before")
    @classmethod
    def _listed(cls, given: object) -> object:
        return (given,) if isinstance(given, str) else given

    @field_validator("columns", mode="before")
    @classmethod
    def _short_form(cls, given: object) -> object:
        if not isinstance(given, Mapping):
            return given
        return {name: {"header": origin} if isinstance(origin, str) else origin for name, origin in given.items()}


class ColumnMap(Declared):
    """One source's map: what holds for all of it, and its blocks, by our table."""

    version: Literal[1]
    date_format: str = ""
    decimal_comma: bool | None = None
    blank: tuple[str, ...] = ()
    ignore: tuple[str, ...] = ()
    tables: dict[str, tuple[Block, ...]]

    @model_validator(mode="before")
    @classmethod
    def _tables_apart(cls, given: Any) -> Any:  # noqa: ANN401 - what pydantic hands over is anything
        if not isinstance(given, dict) or "tables" in given:
            return given
        blocks = {
            name: value if isinstance(value, list) else [value] for name, value in given.items() if name in TABLES
        }
        return {name: value for name, value in given.items() if name not in TABLES} | {"tables": blocks}

    def written(self, origin: Origin) -> Written:
        """How the cells of a column are written."""
        comma = self.decimal_comma if origin.decimal_comma is None else origin.decimal_comma
        return Written(
            unit=origin.unit,
            day_format=day_codes(origin.date_format or self.date_format),
            mark=None if comma is None else "comma" if comma else "point",
            words={plain(theirs): ours for theirs, ours in origin.words.items()},
            blank=frozenset(map(plain, self.blank)),
            loose=True,
            keyed=origin.keyed,
        )

    @property
    def headers(self) -> Iterator[str]:
        """Every header of theirs that the map names."""
        for blocks in self.tables.values():
            for block in blocks:
                yield from block.fill_down
                for origin in block.columns.values():
                    yield from origin.headers


def read_map(path: Path) -> ColumnMap:
    """The column map in a TOML file; MapError in one line that names the file and the key."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise MapError(f"{path}: cannot be read as a column map; it must be a text file in UTF-8") from error
    return parse_map(text, path.name)


def parse_map(text: str, name: str = "the column map") -> ColumnMap:
    """A column map from its text; MapError in one line that names ``name`` and the key."""
    try:
        found = ColumnMap.model_validate(tomllib.loads(text))
        _check(found)
    except tomllib.TOMLDecodeError as error:
        raise MapError(f"{name} is not valid TOML: {error}") from error
    except ValidationError as error:
        raise MapError(f"{name}: {_explained(error)}") from error
    except MapError as error:
        raise MapError(f"{name}: {error}") from error
    return found


def _explained(error: ValidationError) -> str:
    """The first fault of a map, with the nearest key that may stand there."""
    fault = error.errors()[0]
    *where, key = [str(part) for part in fault["loc"] if part != "tables"] or [""]
    at = ".".join([*where, key])
    match fault["type"]:
        case "extra_forbidden":
            near = get_close_matches(key, _keys(where), n=1, cutoff=0.5)
            return f"unknown key {at}: " + (
                f"did you mean {near[0]}?" if near else f"there are {_listed(_keys(where))}"
            )
        case "missing":
            return f"{at} must be there" + (" (version = 1)" if key == "version" else "")
        case "literal_error":
            return f"{at} = {fault['input']!r}: this program reads version 1"
        case "value_error":
            return f"{at}: {fault['ctx']['error']}"
        case _:
            return f"{at} = {fault['input']!r} does not fit: {fault['msg'].lower()}"


def _keys(where: list[str]) -> list[str]:
    if "columns" in where:
        return list(Origin.model_fields)
    return (
        ["from", "fill_down", "columns"] if where else [*(n for n in ColumnMap.model_fields if n != "tables"), *TABLES]
    )


def _listed(names: list[str]) -> str:
    return ", ".join(names)


def _check(given: ColumnMap) -> None:
    """Hold every column of a map to what our column can be; MapError at the first that cannot."""
    if not given.tables:
        raise MapError(f"has no table; it needs a section such as [jobs.columns], of {_listed(list(TABLES))}")
    for table, blocks in given.tables.items():
        declared = TABLES[table].columns()
        for block in blocks:
            for name, origin in block.columns.items():
                if name not in declared:
                    near = get_close_matches(name, declared, n=1, cutoff=0.5)
                    hint = f"did you mean {near[0]}?" if near else f"it has {_listed(list(declared))}"
                    raise MapError(f"{table} has no column {name}: {hint}")
                _check_column(f"{table}.{name}", declared[name], origin, given.written(origin))
            needed = [name for name, column in declared.items() if not column.nullable and name not in block.columns]
            if needed:
                raise MapError(f"{table} needs {_listed(needed)}; give each a header, a template or a constant")


def _check_column(name: str, column: dy.Column, origin: Origin, written: Written) -> None:
    if origin.unit:
        if not isinstance(column.dtype, pl.Float64 | pl.Int64):
            raise MapError(f"{name} has no unit")
        scale(origin.unit, contract_unit(column))
    if isinstance(column.dtype, pl.Date):
        _check_days(name, written.day_format)
    elif origin.date_format or origin.days_swapped is not None:
        raise MapError(f"{name} is no day, so it has no date_format and no days_swapped")
    for theirs, said in origin.words.items():
        ours = _item(name, theirs, said) if name == RATED else said
        value, faults = typed(pl.Series([ours]), column)
        if faults or (ours and value.null_count()):
            raise MapError(f"{name}: {theirs!r} cannot become {ours!r}: {next(iter(faults.values()), 'it is blank')}")
    if origin.constant is not None and (faults := typed(pl.Series([origin.constant]), column, written)[1]):
        raise MapError(f"{name}: the constant {origin.constant!r} cannot be: {faults[0]}")
    if origin.keyed and not isinstance(column, dy.String):
        raise MapError(f"{name} is no text, so it cannot be keyed")


def _item(name: str, theirs: str, said: str) -> str:
    """The item of rates that a word becomes; MapError where it is priced by a unit that is not said, or not its own."""
    item, unit = taken_apart(said)
    for one in filter(None, (unit, taken_apart(theirs)[1])):
        if item and not is_sold_by(item, one):
            raise MapError(f"{name}: {theirs!r} cannot become {said!r}: {item} has no price per {one}")
    if not unit and (other := other_unit(item, theirs)):
        raise MapError(f"{name}: {theirs!r} names {other}; if it is a price per {other}, make it '{item} per {other}'")
    return item


def _check_days(name: str, codes: str) -> None:
    """A format must read back the day it writes: it needs a day, a month and a year, and nothing else."""
    if not codes or codes == DAY_NUMBERS:
        return
    try:
        text = pl.Series(["2026-03-31"]).str.to_date().dt.to_string(codes)
        back = days(text, codes).item()
    except (pl.exceptions.PolarsError, ValueError):
        back = None
    if str(back) != "2026-03-31":
        raise MapError(f"{name}: the date_format {codes!r} does not name a day, a month and a year, as DD/MM/YYYY does")

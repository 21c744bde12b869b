"""Fields of a form from the contract's declarations: kind, words, unit, limits and help."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import dataframely as dy
import polars as pl

from analytics.contract import words
from analytics.contract.columns import MONEY_UNIT
from analytics.contract.descriptions import accepted, label, unit
from analytics.contract.tables import TABLES
from analytics.pages.form import TODAY, Field

BLANK = "not recorded"
YES_NO = {"": BLANK, "true": "yes", "false": "no"}
UNIT_WORDS = {"person-min": "person-minutes", "min": "minutes", "ports": ""}


def ask(table: str, column: str, row: Mapping[str, str] | None = None, currency: str = "") -> Field:
    """The field of one column, filled in from ``row`` (texts by column) where there is one; amounts in ``currency``."""
    declared = TABLES[table].columns()[column]
    default = (row or {}).get(column, "")
    told = Field(column, label(column), help=_help(declared), default=default)
    match declared.dtype:
        case pl.Enum() as dtype:
            known = {word: words.word(word) for word in dtype.categories.to_list()}
            return replace(told, kind="choice", options=({"": BLANK} if declared.nullable else {}) | known)
        case pl.Boolean():
            return replace(told, kind="choice", options=YES_NO)
        case pl.Date():
            return replace(told, kind="day")
        case pl.String():
            return told
        case _:
            told = replace(told, kind="number")
            return replace(told, unit={**UNIT_WORDS, MONEY_UNIT: currency}.get(unit(declared), unit(declared)))


def ask_all(
    table: str, columns: Iterable[str], row: Mapping[str, str] | None = None, currency: str = ""
) -> tuple[Field, ...]:
    """The fields of several columns."""
    return tuple(ask(table, column, row, currency) for column in columns)


def today(field: Field) -> Field:
    """The field, starting at today where nothing is recorded."""
    return field if field.default else replace(field, default=TODAY)


def keyed(field: Field, prefix: str) -> Field:
    """The field under a key of its own, where a form asks for the same column of several rows."""
    return replace(field, key=f"{prefix}.{field.key}")


def among(field: Field, values: Iterable[str], blank: str = "") -> Field:
    """The field as a choice of ``values``; ``blank`` are the words for none of them."""
    options = ({"": blank} if blank else {}) | {value: value for value in values}
    return replace(field, kind="choice", options=options)


def suggesting(field: Field, values: Iterable[str]) -> Field:
    """The field with suggestions, any other text taken too."""
    return replace(field, options={value: value for value in values})


def _help(column: dy.Column) -> str:
    limits = "" if isinstance(column.dtype, pl.Enum) else accepted(column)
    return " ".join(part for part in (column.description or "", words.sentence(limits)) if part)

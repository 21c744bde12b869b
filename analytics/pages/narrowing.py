"""Figures of finished work narrowed by what a reader clicked: a choice a narrowed grouping, to widen it again."""

from collections.abc import Sequence

import polars as pl

from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.dimensions import DIMENSIONS, NOT_RECORDED, Dimension
from analytics.pages.page import Choice, Said

PATH = "leak-backs"
"""The page that shows them."""
EVERY = "every"


def narrowed(records: Records, said: Said) -> dict[Dimension, str]:
    """What the address narrows to, by grouping; a value that no finished crack has narrows nothing."""
    found = {d: _only(records, d).of(said) for d in DIMENSIONS.values() if d.name in said}
    return {d: value for d, value in found.items() if value != EVERY}


def choices(records: Records, only: Sequence[Dimension]) -> tuple[Choice, ...]:
    """A choice a narrowed grouping."""
    return tuple(_only(records, d) for d in only)


def in_words(only: dict[Dimension, str]) -> str:
    """``winter, epoxy``, in brackets after a space; nothing where all is shown."""
    return f" ({', '.join(_said(d, value) for d, value in only.items())})" if only else ""


def _only(records: Records, grouping: Dimension) -> Choice:
    found = records.ask("follow_up")[grouping.column].cast(pl.String).fill_null(NOT_RECORDED).unique().to_list()
    options = {value: words.word(value) for value in sorted(found, key=grouping.rank)}
    return Choice(grouping.name, grouping.words.capitalize(), {EVERY: "all of them"} | options, EVERY)


def _said(grouping: Dimension, value: str) -> str:
    word = words.word(value)
    return word if grouping.values else f"{grouping.words} {word}"

"""Named SELECTs, joined into one WITH.

Each file in ``selects/`` is one SELECT of one grain. A SELECT that reads another names it like a table. The
only text ever put into a SELECT is names of columns declared in the contract; every value is bound.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib.resources import files

import polars as pl

from analytics.contract.dimensions import DIMENSIONS, NOT_RECORDED, Dimension

_SOURCE = re.compile(r"\b(?:from|join)\s+([a-z_][a-z0-9_]*)")
_COLUMN = re.compile(r"^[a-z][a-z0-9_]*$")
EVERYTHING = Dimension("everything", "everything", "all cracks")
WORDS = {each.column: pl.Enum(each.values) for each in DIMENSIONS.values() if each.values}
"""Columns that hold one of the contract's words."""
FOLLOWED = ("follow_up", "done_cracks", "recorded_work")
"""What a table of followed cracks stands for, where there is one; see ``followed.py``."""


@cache
def selects() -> Mapping[str, str]:
    """Every named SELECT, by its file's name."""
    folder = files("analytics.store") / "selects"
    return {
        entry.name.removesuffix(".sql"): entry.read_text(encoding="utf-8")
        for entry in folder.iterdir()
        if entry.name.endswith(".sql")
    }


def compose(
    name: str,
    by: Sequence[Dimension],
    only: Sequence[Dimension],
    columns: Mapping[str, str],
    read: Sequence[str] = (),
    followed: str | None = None,
) -> str:
    """The SQL of one question: what it reads, then itself.

    ``{keys}`` makes the groupings' columns from the follow-up facts, ``{by}`` names them from then on, ``{only}``
    holds the conditions on narrowing columns, and each key of ``columns`` stands for a declared column. ``read`` are
    those columns of the answer that are wanted, in place of all. ``followed`` is the table of followed cracks that is
    read in place of the SELECTs it is made of.
    """
    known = dict.fromkeys(FOLLOWED, f"select * from {followed}") if followed else {}
    texts = {**selects(), **known}
    steps = ",\n".join(f"{step} as (\n{texts[step]})" for step in _in_order(name, texts, {}))
    groupings = by or (EVERYTHING,)
    recorded = _recorded if followed is None else _recorded_by_number
    wanted = {
        "keys": ", ".join(f"{recorded(d)} as {d.column}" for d in groupings),
        "by": ", ".join(d.column for d in groupings),
        "only": " and ".join(f"{recorded(d)} = $only_{i}" for i, d in enumerate(only)) or "true",
        **columns,
    }
    for column in [d.column for d in (*by, *only)] + list(columns.values()) + list(read):
        if not _COLUMN.match(column):
            raise ValueError(f"{column!r} is not a declared column")
    for slot, text in wanted.items():
        steps = steps.replace("{" + slot + "}", text)
    return f"with {steps}\nselect {', '.join(map(_told, read)) or '*'} from {name}"


def numbered(column: str) -> str:
    """The engine's type that tells a column's words by number, a word for what was not recorded among them."""
    return _enum((*WORDS[column].categories, NOT_RECORDED))


def _in_order(name: str, texts: Mapping[str, str], seen: dict[str, None]) -> dict[str, None]:
    for needed in _reads(name, texts):
        if needed not in seen:
            _in_order(needed, texts, seen)
    seen[name] = None
    return seen


def _reads(name: str, texts: Mapping[str, str]) -> list[str]:
    body = "\n".join(line for line in texts[name].splitlines() if not line.lstrip().startswith("--"))
    return [word for word in dict.fromkeys(_SOURCE.findall(body)) if word in texts and word != name]


def _recorded(dimension: Dimension) -> str:
    return f"coalesce(cast(f.{dimension.column} as varchar), '{NOT_RECORDED}')"


def _recorded_by_number(dimension: Dimension) -> str:
    """The same of a table of followed cracks, whose words are grouped by number."""
    column = dimension.column
    if column not in WORDS:
        return _recorded(dimension)
    return f"coalesce(f.{column}, cast('{NOT_RECORDED}' as {numbered(column)}))"


def _told(column: str) -> str:
    """A column read, its words told by number already by the engine."""
    return f"cast({column} as {_enum(WORDS[column].categories)}) as {column}" if column in WORDS else column


def _enum(words: Iterable[str]) -> str:
    quoted = ", ".join(f"'{word}'" for word in words)
    return f"enum({quoted})"

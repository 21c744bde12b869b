"""Questions to the store: named SELECTs, joined into one WITH, their parameters bound.

Each file in ``selects/`` is one SELECT of one grain. A SELECT that reads another names it like a table. The
only text ever put into a SELECT is names of columns declared in the contract; every value is bound.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, partial
from importlib.resources import files

import polars as pl

from analytics.contract.dimensions import DIMENSIONS, NOT_RECORDED, Dimension
from analytics.errors import LeakbackError
from analytics.store import auditing
from analytics.store.database import Store
from analytics.store.kept import Kept

_PARAMETER = re.compile(r"\$([a-z_][a-z0-9_]*)")
_SOURCE = re.compile(r"\b(?:from|join)\s+([a-z_][a-z0-9_]*)")
_COLUMN = re.compile(r"^[a-z][a-z0-9_]*$")
EVERYTHING = Dimension("everything", "everything", "all cracks")
WORDS = {each.column: pl.Enum(each.values) for each in DIMENSIONS.values() if each.values}
"""Columns that hold one of the contract's words."""


@cache
def selects() -> Mapping[str, str]:
    """Every named SELECT, by its file's name."""
    folder = files("analytics.store") / "selects"
    return {
        entry.name.removesuffix(".sql"): entry.read_text(encoding="utf-8")
        for entry in folder.iterdir()
        if entry.name.endswith(".sql")
    }


def _reads(name: str) -> list[str]:
    body = "\n".join(line for line in selects()[name].splitlines() if not line.lstrip().startswith("--"))
    return [word for word in dict.fromkeys(_SOURCE.findall(body)) if word in selects() and word != name]


def _in_order(name: str, seen: dict[str, None]) -> dict[str, None]:
    for needed in _reads(name):
        if needed not in seen:
            _in_order(needed, seen)
    seen[name] = None
    return seen


def _recorded(dimension: Dimension) -> str:
    return f"coalesce(cast(f.{dimension.column} as varchar), '{NOT_RECORDED}')"


def _told(column: str) -> str:
    """A column read, its words told by number already by the engine."""
    if column not in WORDS:
        return column
    words = ", ".join(f"'{word}'" for word in WORDS[column].categories)
    return f"cast({column} as enum({words})) as {column}"


def compose(
    name: str,
    by: Sequence[Dimension],
    only: Sequence[Dimension],
    columns: Mapping[str, str],
    read: Sequence[str] = (),
) -> str:
    """The SQL of one question: what it reads, then itself.

    ``{keys}`` makes the groupings' columns from the follow-up facts, ``{by}`` names them from then on, ``{only}``
    holds the conditions on narrowing columns, and each key of ``columns`` stands for a declared column. ``read`` are
    those columns of the answer that are wanted, in place of all.
    """
    names = list(_in_order(name, {}))
    steps = ",\n".join(f"{step} as (\n{selects()[step]})" for step in names)
    groupings = by or (EVERYTHING,)
    wanted = {
        "keys": ", ".join(f"{_recorded(d)} as {d.column}" for d in groupings),
        "by": ", ".join(d.column for d in groupings),
        "only": " and ".join(f"{_recorded(d)} = $only_{i}" for i, d in enumerate(only)) or "true",
        **columns,
    }
    for column in [d.column for d in (*by, *only)] + list(columns.values()) + list(read):
        if not _COLUMN.match(column):
            raise ValueError(f"{column!r} is not a declared column")
    for slot, text in wanted.items():
        steps = steps.replace("{" + slot + "}", text)
    return f"with {steps}\nselect {', '.join(map(_told, read)) or '*'} from {name}"


@dataclass(frozen=True)
class Ask:
    """Asks a store its named questions as of one day, for one hemisphere.

    Given the ``state`` the records were in, every answer is from that state or RecordsMovedError: one page, one
    state, whoever loads meanwhile. Given somewhere to keep answers, each is asked of the store once.
    """

    store: Store
    as_of: date | None
    hemisphere: str = "north"
    state: str | None = None
    kept: Kept | None = None

    @classmethod
    def of(cls, store: Store, as_of: date | None = None, hemisphere: str = "north", kept: Kept | None = None) -> "Ask":
        """An ``Ask`` as of ``as_of``, else of the latest day quoted, done or reported; never the wall clock.

        LeakbackError for a day after that: nobody has watched the repairs since.
        """
        with store.connect() as connection:
            state = auditing.state(connection)
            latest: date | None = connection.sql(selects()["as_of"]).pl().item()
        if as_of and latest and as_of > latest:
            raise LeakbackError(f"as of {as_of}: the records reach {latest}; give that day or one before it")
        return cls(store, as_of or latest, hemisphere, state, kept)

    def __call__(
        self,
        name: str,
        *,
        by: Sequence[Dimension] = (),
        only: Mapping[Dimension, str] | None = None,
        columns: Mapping[str, str] | None = None,
        read: Iterable[str] = (),
        **parameters: object,
    ) -> pl.DataFrame:
        """The answer to the question ``name`` as a frame; LeakbackError where a parameter is missing.

        Given columns to ``read``, it has these alone, those of the contract's words as an Enum of them: of very many
        rows the others would fill the memory.
        """
        only, read = only or {}, tuple(dict.fromkeys(read))
        sql = compose(name, by, list(only), columns or {}, read)
        known = {
            "as_of": self.as_of or date.min.replace(year=1900),
            "hemisphere": self.hemisphere,
            **{f"only_{i}": value for i, value in enumerate(only.values())},
            **parameters,
        }
        needed = set(_PARAMETER.findall(sql))
        if missing := needed - set(known):
            raise LeakbackError(f"the question {name} needs {', '.join(sorted(missing))}")
        values = {key: known[key] for key in sorted(needed)}
        asked = partial(self._asked, sql, values, read)
        answer = asked() if self.kept is None else self.kept.frame((sql, repr(values)), asked)
        return answer if by or read else answer.drop("everything", strict=False)

    def _asked(self, sql: str, values: Mapping[str, object], read: Sequence[str]) -> pl.DataFrame:
        found = self.store.frame(sql, values, state=self.state)
        return found.with_columns(pl.col(column).cast(WORDS[column]) for column in read if column in WORDS)

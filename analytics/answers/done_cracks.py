"""Done cracks with those columns only that an answer reads, words as codes: of very many all would fill the memory."""

from collections.abc import Iterable
from datetime import date

import polars as pl

from analytics.contract.dimensions import DIMENSIONS
from analytics.store import Ask
from analytics.store.asking import compose

SOME = "select {columns} from ({everything})"
WORDS = {each.column: pl.Enum(each.values) for each in DIMENSIONS.values() if each.values}


def done_cracks(ask: Ask, columns: Iterable[str]) -> pl.DataFrame:
    """Some columns of ``follow_up``, those of words of the contract as an Enum of these; as kept as any answer."""
    wanted = tuple(dict.fromkeys(columns))
    sql = SOME.format(columns=", ".join(map(_coded, wanted)), everything=compose("follow_up", (), (), {}))
    values = {"as_of": ask.as_of or date.min.replace(year=1900), "hemisphere": ask.hemisphere}

    def asked() -> pl.DataFrame:
        found = ask.store.frame(sql, values, state=ask.state)
        return found.cast({name: WORDS[name] for name in wanted if name in WORDS})

    return asked() if ask.kept is None else ask.kept.frame((sql, repr(values)), asked)


def _coded(column: str) -> str:
    """A column, its words told by number already by the engine."""
    if column not in WORDS:
        return column
    words = ", ".join(f"'{word}'" for word in WORDS[column].categories)
    return f"cast({column} as enum({words})) as {column}"

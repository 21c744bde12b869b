"""Questions to the store: named SELECTs with their values bound, as of one day and one state of the records."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

import polars as pl

from analytics.contract.dimensions import Dimension
from analytics.errors import LeakbackError
from analytics.store import auditing, followed
from analytics.store.composing import WORDS, compose, selects
from analytics.store.database import Store
from analytics.store.kept import Kept

_PARAMETER = re.compile(r"\$([a-z_][a-z0-9_]*)")


@dataclass(frozen=True)
class Ask:
    """Asks a store its named questions as of one day, for one hemisphere.

    Given the ``state`` the records were in, every answer is from that state or RecordsMovedError: one page, one
    state, whoever loads meanwhile. Given somewhere to keep answers, each is asked of the store once. Given the table of
    ``followed`` cracks that stands for all this, the follow-up is read from there.
    """

    store: Store
    as_of: date | None
    hemisphere: str = "north"
    state: str | None = None
    kept: Kept | None = None
    followed: str | None = None

    @classmethod
    def of(cls, store: Store, as_of: date | None = None, hemisphere: str = "north", kept: Kept | None = None) -> "Ask":
        """An ``Ask`` as of ``as_of``, else of the latest day quoted, done or reported; never the wall clock.

        LeakbackError for a day after that: nobody has watched the repairs since.
        """
        with store.connect() as connection:
            state = auditing.state(connection)
            latest: date | None = connection.sql(selects()["as_of"]).pl().item()
            table = followed.standing(connection, state, as_of or latest, hemisphere)
        if as_of and latest and as_of > latest:
            raise LeakbackError(f"as of {as_of}: the records reach {latest}; give that day or one before it")
        return cls(store, as_of or latest, hemisphere, state, kept, table)

    def keep_followed(self) -> None:
        """Make the table of followed cracks for whoever asks the same; CannotWriteError where that fails."""
        if self.followed is None and self.state is not None and self.as_of is not None:
            followed.keep(self.store, self.state, self.as_of, self.hemisphere)

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
        sql = compose(name, by, list(only), columns or {}, read, self.followed)
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
        return answer if by or read else answer.drop("everything", "alone", strict=False)

    def _asked(self, sql: str, values: Mapping[str, object], read: Sequence[str]) -> pl.DataFrame:
        found = self.store.frame(sql, values, state=self.state)
        kinds = {column: WORDS[column] if column in read else pl.String for column in WORDS if column in found.columns}
        return found.cast(kinds)  # type: ignore[arg-type]

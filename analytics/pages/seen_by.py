"""A page as a role may see it: its own forms, links to pages that are open to it, no crew where none may be told.

Pages know nothing of roles. What a role may not see is taken out of the finished page, here for all of them.
"""

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import partial
from typing import Any

import polars as pl

from analytics.charts.plot import Plot
from analytics.contract.descriptions import crew_said
from analytics.contract.roles import ACTS, Rights
from analytics.pages.form import Form, Search
from analytics.pages.page import (
    Chart,
    Choice,
    Column,
    Document,
    Downloads,
    Drawing,
    Folded,
    Page,
    Reasons,
    Said,
    Section,
    Table,
    TypedNumber,
)
from analytics.pages.upload import Upload

CREW = frozenset({"crew", "crew_id"})
"""How a crew is called in addresses, choices and tables."""
A_CREW = "a crew"


def asked_by(rights: Rights, said: Said) -> Said:
    """What a reader asked for, without what their role may not ask: crews compared, or the work of one crew."""
    if rights.crews == "judged":
        return said
    unnamed = rights.crews == "unnamed"
    return {key: value for key, value in said.items() if not (_by_crew(value) or (unnamed and key in CREW))}


def seen_by(rights: Rights, page: Page, crews: Iterable[str]) -> Page:
    """The page as the role may see it; ``crews`` are the crews whose names or codes may stand in it."""
    if rights.crews == "judged" and not rights.closed and rights.acts >= set(ACTS):
        return page
    return _Sight(rights, _Names.of(crews) if rights.crews == "unnamed" else None).page(page)


def _by_crew(value: str) -> bool:
    return "crew" in value.lower().split(",")


@dataclass(frozen=True)
class _Names:
    """Finds crews in text: after the word crew any of them, on its own one that no number or word is taken for."""

    called: re.Pattern[str]
    alone: re.Pattern[str]

    @classmethod
    def of(cls, crews: Iterable[str]) -> "_Names":
        known = sorted(crews, key=len, reverse=True)
        telling = [crew for crew in known if re.search(r"[^\W\d_]", crew)]
        after_the_word = rf"(?P<before>, )?\b(?P<word>crew) {_any(known)}"
        coded = _any(crew for crew in known if crew_said(crew) == crew)
        alone = rf"(?<![\w-]){_any(telling)}"
        return cls(_found(rf"(?:{after_the_word}|(?P<ending>, ){coded}(?=:))"), _found(alone))

    def hidden(self, text: str) -> str:
        """The text with no crew told: "planned for Monday, crew C03" loses it, elsewhere it is a crew."""
        return self.alone.sub(A_CREW, self.called.sub(_called, text))

    def told_in(self, text: str) -> bool:
        """Whether the text tells a crew."""
        return self.hidden(text) != text


def _any(names: Iterable[str]) -> str:
    return "(?:" + "|".join(map(re.escape, names)) + ")" if names else r"(?!)"


def _found(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"{pattern}(?![\w-])", re.IGNORECASE)


def _called(found: re.Match[str]) -> str:
    if found["before"] or found["ending"]:
        return ""
    return A_CREW.capitalize() if found["word"][0].isupper() else A_CREW


@dataclass(frozen=True)
class _Sight:
    """What one role sees of a page; ``names`` None where crews may be told."""

    rights: Rights
    names: _Names | None

    def page(self, page: Page) -> Page:
        choices = tuple(kept for choice in page.choices if (kept := self._choice(choice)) is not None)
        told: Page = self._told(replace(page, parts=(), choices=(), apart=()))
        apart = tuple(self.page(each) for each in page.apart)
        return replace(told, parts=self._parts(page.parts), choices=choices, apart=apart)

    def _parts(self, parts: Iterable[Any]) -> tuple[Any, ...]:
        return tuple(kept for part in parts if self._open(part) and (kept := self._part(part)) is not None)

    def _open(self, part: Any) -> bool:  # noqa: ANN401 - whatever may hold figures of several pages
        return all(map(self.rights.opens, getattr(part, "holds", ())))

    def _part(self, part: Any) -> Any:  # noqa: ANN401, PLR0911 - every kind of part, one line each
        match part:
            case Form() | Upload():
                return part if self.rights.allows(part.needs) else None
            case Folded():
                inner = self._parts(part.parts)
                return replace(self._told(replace(part, parts=())), parts=inner) if inner else None
            case Downloads():
                files = tuple(file for file in part.rows if self._open(file))
                return self._told(replace(part, rows=files)) if files else None
            case Section():
                if any(isinstance(each, Table) and self._is_of_crews(each) for each in part.parts):
                    return None
                inner = self._parts(part.parts)
                told = self._told(replace(part, parts=(), aside=None))
                return replace(told, parts=inner, aside=part.aside) if inner else None
            case Table():
                return None if self._is_of_crews(part) else self._table(part)
            case Chart():
                plots = tuple(plot for plot in part.plots if not self._drawn_in(plot))
                return replace(self._told(replace(part, plots=())), plots=plots) if plots else None
            case Drawing():
                return part
            case Reasons():
                rows = tuple(row for row in part.rows if self.names is None or not self.names.told_in(row.text))
                return self._told(replace(part, rows=rows)) if rows else None
            case _:
                return self._told(part)

    def _choice(self, choice: Choice | TypedNumber | Search) -> Choice | TypedNumber | Search | None:
        if not isinstance(choice, Choice) or self.rights.crews == "judged":
            return choice
        if self.names is not None and choice.key in CREW:
            return None
        return replace(choice, options={key: said for key, said in choice.options.items() if not _by_crew(key)})

    def _is_of_crews(self, table: Table) -> bool:
        """Whether a table has a row a crew."""
        return self.names is not None and bool(table.columns) and table.columns[0].key in CREW

    def _table(self, table: Table) -> Table:
        columns = tuple(self._column(column) for column in table.columns if not self._hides(column.key))
        if self.names is None:
            return replace(table, columns=columns)
        shown = {key for column in columns for key in (column.key, column.low, column.high, column.under) if key}
        rows = table.rows.select(name for name in table.rows.columns if name in shown)
        texts = [name for name, kind in rows.schema.items() if kind == pl.String]
        rows = rows.with_columns(pl.col(texts).map_elements(self.names.hidden, return_dtype=pl.String))
        told: Table = self._told(replace(table, columns=(), rows=pl.DataFrame()))
        return replace(told, columns=columns, rows=rows)

    def _column(self, column: Column) -> Column:
        link = column.link if self.rights.opens(column.link) else ""
        return replace(column, link=link, under="" if self._hides(column.under) else column.under)

    def _hides(self, key: str) -> bool:
        return self.names is not None and key in CREW

    def _drawn_in(self, plot: Plot) -> bool:
        """Whether a plot tells a crew, by a name or by a column of crews."""
        if self.names is None:
            return False
        spec = json.dumps(plot.to_dict(), default=str)
        return any(f'"{name}"' in spec for name in CREW) or bool(self.names.alone.search(spec))

    def _told(self, value: Any) -> Any:  # noqa: ANN401 - whatever a part is made of
        """A value with every text in it told as it may be, files to take away among them."""
        if self.names is None and not isinstance(value, Mapping | tuple) and not is_dataclass(value):
            return value
        if isinstance(value, str):
            return self.names.hidden(value) if self.names else value
        if isinstance(value, tuple):
            return tuple(self._told(each) for each in value)
        if is_dataclass(value) and not isinstance(value, type):
            told = {each.name: self._field(each.name, getattr(value, each.name)) for each in fields(value)}
            return replace(value, **told)
        return value

    def _field(self, name: str, value: Any) -> Any:  # noqa: ANN401 - whatever a part is made of
        if name == "document" and callable(value):
            return partial(self._document, value)
        if name == "links":
            return tuple((said, path) for said, path in value if self.rights.opens(path))
        return value if name == "file_name" else self._told(value)

    def _document(self, make: Callable[[], Document | bytes]) -> Document | bytes:
        made = make()
        if isinstance(made, bytes):
            return made
        return replace(made, title=self._told(made.title), pages=tuple(self.page(page) for page in made.pages))

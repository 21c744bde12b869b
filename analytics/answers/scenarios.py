"""What-ifs of the price book, saved by name in the store."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from analytics.answers import pricing
from analytics.answers.pricing import Basis, PriceBook
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.standing import needs
from analytics.decisions.scenarios import AS_IT_IS, LONGEST_NAME, Scenario, scenario
from analytics.errors import LeakbackError, UnknownNameError
from analytics.store.scenarios import remove_scenario, save_scenario

NAME = re.compile(r"[\w][\w .%+-]*")
AS_IT_IS_NAME = "as it is"


@dataclass(frozen=True)
class Compared:
    """The price book's row of all cracks under a scenario; ``row`` None where ``said`` says why."""

    name: str
    changes: Mapping[str, Any]
    row: Mapping[str, Any] | None
    said: tuple[str, ...]

    def answer(self) -> dict[str, Any]:
        """One of the scenarios side by side."""
        return {"name": self.name, "changes": dict(self.changes), "overall": self.row, "said": list(self.said)}


def saved(records: Records) -> dict[str, Scenario]:
    """Every saved scenario by name, the oldest first."""
    rows = records.ask("saved_scenarios").iter_rows(named=True)
    return {row["name"]: Scenario.model_validate_json(row["document"]) for row in rows}


@needs("scenario")
def save(records: Records, name: str, **said: object) -> Scenario:
    """Keep a scenario under a name, in place of one of that name; LeakbackError where it may not be so."""
    if not NAME.fullmatch(name) or len(name) > LONGEST_NAME or name == AS_IT_IS_NAME:
        raise LeakbackError(
            f"{name!r} cannot name a scenario: use at most {LONGEST_NAME} letters, digits, spaces and . % + -"
        )
    kept = scenario(**said)
    save_scenario(records.store, name, kept.model_dump_json(), saved_at=datetime.now(UTC).replace(tzinfo=None))
    return kept


@needs("scenario")
def remove(records: Records, name: str) -> None:
    """Forget the scenario of that name; UnknownNameError where there is none."""
    called(records, name)
    remove_scenario(records.store, name)


def called(records: Records, name: str) -> Scenario:
    """The scenario saved under ``name``; UnknownNameError where there is none."""
    known = saved(records)
    if not known:
        raise LeakbackError(f"no scenario {name!r}: none is saved yet; see leakback scenario save --help")
    if name not in known:
        kind = "scenario"
        raise UnknownNameError(kind, name, known)
    return known[name]


@remembered
def side_by_side(records: Records, basis: Basis, months: int, level: float) -> list[Compared]:
    """All work of ``basis`` as it is and under each saved scenario; empty where none is saved."""
    known = saved(records)
    if not known:
        return []
    books = {
        name: (each, pricing.book(records, basis, (), months=months, level=level, scenario=each))
        for name, each in {AS_IT_IS_NAME: AS_IT_IS, **known}.items()
    }
    return [_compared(name, each, book) for name, (each, book) in books.items()]


def _compared(name: str, each: Scenario, book: PriceBook) -> Compared:
    overall = book.answer()["overall"]
    return Compared(name, each.changes(), overall, () if overall else book.said)

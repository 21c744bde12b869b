"""The last entry by hand, and taking it back: the last load, where nobody has loaded anything since."""

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from analytics.answers import loading
from analytics.answers.handing_in import BY_HAND
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract.descriptions import one_of
from analytics.contract.words import full_day
from analytics.decisions.costs import ITEM_WORDS


@dataclass(frozen=True)
class LastEntry:
    """The load it is, what kind of entry, when it was recorded (universal time), and the rows it brought, in words."""

    batch: int
    kind: str
    recorded_at: datetime
    rows: tuple[str, ...]

    def __str__(self) -> str:
        """What it was, and its rows where it brought any; ``call B-07`` says both."""
        rows = ", ".join(self.rows)
        if len(self.rows) == 1 and rows.startswith(f"{self.kind} "):
            return rows
        return f"{self.kind} ({rows})" if rows else self.kind


def last_entry(records: Records) -> LastEntry | None:
    """The last load where it was recorded by hand; None where it came from files, or there is none."""
    newest = records.ask("load_ledger").head(1)
    if newest.is_empty() or not newest["file"].item().startswith(BY_HAND):
        return None
    [row] = newest.to_dicts()
    brought = records.ask("last_entry").rows()
    kind = row["file"].removeprefix(BY_HAND)
    for _, code in brought:  # the load is named after the first of its rows
        kind = kind.removesuffix(f" {code}")
    return LastEntry(row["batch"], kind, row["loaded_at"], tuple(_said(table, code) for table, code in brought))


def _said(table: str, code: str) -> str:
    """One row in words; a rate's key is its day and its item."""
    if table != "rates":
        return f"{one_of(table)} {code}"
    day, item = code.split(" ")
    return f"{ITEM_WORDS[item]} from {full_day(date.fromisoformat(day))}"


@needs("undo")
def take_back(path: Path, entry: LastEntry) -> str:
    """Take the entry back, and say so; LeakbackError where it is not the last load any more."""
    loading.undo(path, only=entry.batch)
    before = "What stood there before is in force again." if entry.rows else "It waits again."
    return f"Taken back: {entry}. {before}"

"""Files into the store, and out again."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import polars as pl

from analytics.answers.records import Records
from analytics.contract.batch import Batch, TableCount
from analytics.errors import LeakbackError
from analytics.intake import KNOWN_COLUMNS, Keyring, Known, check, read_files
from analytics.store import Ask, Store
from analytics.store.committing import commit, current
from analytics.store.committing import undo as take_back

SHOWN_REJECTS = 3


@dataclass(frozen=True)
class Loaded:
    """What a load did; ``read = loaded + unchanged + rejected`` for every table."""

    batch: int
    as_of: date | None
    tables: dict[str, TableCount]
    dropped_columns: tuple[str, ...]

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        tables = {name: asdict(count) for name, count in self.tables.items()}
        return {
            "batch": self.batch,
            "as_of": self.as_of,
            "tables": tables,
            "dropped_columns": list(self.dropped_columns),
        }


def load(path: Path, files: Sequence[Path], *, strict: bool = False, today: date | None = None) -> Loaded:
    """Load files and folders into the store at ``path``, made where there is none.

    Args:
        path: the store.
        files: CSV files named after the contract's tables, or folders of them.
        strict: load nothing if any row is rejected.
        today: the load date, else today's.
    """
    sheets = read_files(files)  # before anything is made: a bad file leaves no empty store behind
    is_new = not path.exists()
    store = Store.open_or_create(path)
    try:
        keyring = Keyring.of_store(path, store.meta("key_fingerprint"))
        known = Known.of({name: current(store, name, columns) for name, columns in KNOWN_COLUMNS.items()})
        batch = check(sheets, keyring, known, today=today or datetime.now(UTC).astimezone().date())
        if strict:
            _refuse_rejects(batch)
        keyring.keep()
    except LeakbackError:
        if is_new:
            path.unlink()
        raise
    number, counts = commit(
        store, batch, key_fingerprint=keyring.fingerprint, loaded_at=datetime.now(UTC).replace(tzinfo=None)
    )
    return Loaded(number, Ask.of(store).as_of, counts, batch.dropped_columns)


def _refuse_rejects(batch: Batch) -> None:
    if batch.rejects.is_empty():
        return
    rows = batch.rejects.unique(["file", "row"], maintain_order=True)
    shown = "; ".join(f"{r['file']} row {r['row']}: {r['reason']}" for r in rows.head(SHOWN_REJECTS).to_dicts())
    more = "; …" if rows.height > SHOWN_REJECTS else ""
    message = f"nothing loaded (--strict): {rows.height} rows would be rejected: {shown}{more}"
    raise LeakbackError(message)


@dataclass(frozen=True)
class Undone:
    """What taking the last load back did: how many rows it had brought to each table."""

    batch: int
    tables: dict[str, int]

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        return {"batch": self.batch, "tables": self.tables}


def undo(path: Path) -> Undone:
    """Take the last load back; LeakbackError where there is none."""
    return Undone(*take_back(Store.existing(path)))


def rejects(records: Records) -> pl.DataFrame:
    """The rejected cells still to be mended: table, file, row, column, reason."""
    return records.ask("rejects")

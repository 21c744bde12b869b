"""Files into the store, and out again."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import polars as pl

from analytics.answers.acting import LOG, STEPS, acting, changing, keep_codes, keep_followed
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract import words
from analytics.contract.batch import Batch, TableCount
from analytics.errors import CannotWriteError, LeakbackError
from analytics.intake import (
    WORK_LIST,
    ColumnMap,
    Keyring,
    Known,
    Mended,
    Sheet,
    Source,
    check,
    mend,
    open_sources,
    read_sources,
    without_mended,
)
from analytics.store import Ask, Store
from analytics.store.committing import commit, current_of
from analytics.store.committing import undo as take_back

SHOWN_REJECTS = 3


@dataclass(frozen=True)
class Loaded:
    """What a load did; ``read = loaded + unchanged + rejected`` for every table."""

    batch: int
    as_of: date | None
    tables: dict[str, TableCount]
    dropped_columns: tuple[str, ...]
    warnings: int = 0

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        tables = {name: asdict(count) for name, count in self.tables.items()}
        return {
            "batch": self.batch,
            "as_of": self.as_of,
            "tables": tables,
            "dropped_columns": list(self.dropped_columns),
            "warnings": self.warnings,
        }


def begin(path: Path) -> bool:
    """Make an empty store where there is none; whether one was made."""
    if path.exists():
        return False
    with Store(path).turns.writing("begin"):
        Store.open_or_create(path)
    return True


def load(
    path: Path,
    files: Sequence[Path],
    *,
    column_map: ColumnMap | None = None,
    strict: bool = False,
    today: date | None = None,
) -> Loaded:
    """Load files and folders into the store at ``path``, made where there is none.

    Args:
        path: the store.
        files: files that are, or whose sheets are, named after the contract's tables, or that a map names; folders of
            them; and work lists of rejected rows with their mended cells.
        column_map: how the business's own columns become ours.
        strict: load nothing if any row is rejected.
        today: the load date, else today's.
    """
    opened = iter(open_sources(files))  # which lets go of the files' bytes once they are handed on
    return load_sources(path, opened, column_map=column_map, strict=strict, today=today)


@needs("load")
def load_sources(
    path: Path,
    sources: Iterable[Source],
    *,
    column_map: ColumnMap | None = None,
    strict: bool = False,
    today: date | None = None,
) -> Loaded:
    """Load files already opened; see ``load``. What takes the most memory is let go of as soon as it has been used."""
    sources = list(sources)
    STEPS.info("reading %s", words.counted(len(sources), "file"))
    sheets = read_sources(sources, column_map)  # before anything is made: a bad file leaves no empty store behind
    del sources
    STEPS.info("checking %s", words.counted(sum(sheet.cells.height for sheet in sheets), "row"))
    with Store(path).turns.writing("load"):
        is_new = not path.exists()
        store = Store.open_or_create(path)
        try:
            batch, keyring = _checked(store, sheets, today)
            del sheets
            if strict:
                _refuse_rejects(batch)
            keep_codes(keyring)
        except LeakbackError:
            if is_new:
                path.unlink()
            raise
        STEPS.info("backing up, and putting the rows in")
        with changing(store, "load"):
            number, counts = commit(store, batch, key_fingerprint=keyring.fingerprint, act=acting(path))
        dropped, warnings = batch.dropped_columns, batch.warnings.height
        del batch
        _note_dropped(keyring, number, dropped)
        keep_followed(store, counts["cracks"].loaded if "cracks" in counts else 0)
        return Loaded(number, Ask.of(store).as_of, counts, dropped, warnings)


def _note_dropped(keyring: Keyring, number: int, columns: Sequence[str]) -> None:
    """Keep the names of the columns that a load dropped; the load is done by now, so that failing is a notice."""
    try:
        keyring.note_dropped(number, columns)
    except CannotWriteError as error:
        LOG.warning("the load is done, but the columns it dropped could not be noted: %s", error)


def tried(path: Path, sources: Iterable[Source], *, column_map: ColumnMap | None = None) -> Batch:
    """What loading files into the store at ``path`` would bring, with nothing written; see ``load``."""
    sheets = read_sources(sources, column_map)
    batch, _ = _checked(Store.existing(path), sheets)
    return batch


def _checked(store: Store, sheets: Sequence[Sheet], today: date | None = None) -> tuple[Batch, Keyring]:
    """The sheets checked against what the store holds, and the codes given on the way, which are not kept yet."""
    with store.reading():
        keyring = Keyring.of_store(store.path, store.meta("key_fingerprint"))
        known = Known(lambda table, columns, keys: current_of(store, table, columns, keys))
        mended = _mended(store, sheets)
        today = today or datetime.now(UTC).astimezone().date()
        batch = check(sheets, keyring, known, today=today, mended=mended)
        return without_mended(batch, lambda: Ask.of(store)("mended_cells")), keyring


def _mended(store: Store, sheets: Sequence[Sheet]) -> Mended:
    """The rows of the work lists among the sheets, made whole with what the store kept of them."""
    lists = [sheet for sheet in sheets if sheet.table == WORK_LIST]
    ask = Ask.of(store)
    waiting = ask("waiting_rows")
    if not lists:
        return Mended(awaited=waiting.select("table", "key"))
    mended = mend(lists, waiting, ask("rejected_rows"), ask("readings"))
    if both := {(s.table, s.file) for s in mended.sheets} & {(s.table, s.file) for s in sheets}:
        table, file = min(both)
        raise LeakbackError(f"{file}: a list mends {table} of a file of this name; load the list first, then the file")
    return mended


def _refuse_rejects(batch: Batch) -> None:
    if batch.rejects.is_empty():
        return
    rows = batch.rejects.unique(["file", "row"], maintain_order=True)
    shown = "; ".join(f"{r['file']} row {r['row']}: {r['reason']}" for r in rows.head(SHOWN_REJECTS).to_dicts())
    more = "; …" if rows.height > SHOWN_REJECTS else ""
    message = f"nothing loaded (--strict): {words.counted(rows.height, 'row')} would be rejected: {shown}{more}"
    raise LeakbackError(message)


@dataclass(frozen=True)
class Undone:
    """What taking the last load back did: how many rows it had brought to each table."""

    batch: int
    tables: dict[str, int]

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        return {"batch": self.batch, "tables": self.tables}


@needs("undo")
def undo(path: Path, only: int | None = None) -> Undone:
    """Take the last load back; LeakbackError where there is none, or it is not load ``only``, where that is given."""
    store = Store.existing(path)
    with changing(store, "undo"):
        if only is not None and Ask.of(store)("load_ledger")["batch"].max() != only:
            raise LeakbackError("Nothing taken back: something else was loaded or taken back meanwhile.")
        return Undone(*take_back(store, acting(path)))


def rejects(records: Records) -> pl.DataFrame:
    """The rejected cells still to be mended: table, file, row, key (of the row), column, reason, cell, nearest."""
    return records.ask("rejects")


def warnings(records: Records) -> pl.DataFrame:
    """Loaded rows about which something is odd: table, file, row, column, reason."""
    return records.ask("warnings")

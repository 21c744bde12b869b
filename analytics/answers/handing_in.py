"""Rows typed by hand on their way in: a file's checks, one transaction, a load of their own in the history."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from analytics.answers.acting import acting, changing, keep_codes
from analytics.answers.job_rows import Frames, JobRows, Row, Tables
from analytics.answers.not_recorded import RefusedError, refuse_rejects
from analytics.answers.records import Records
from analytics.answers.standing import allowed
from analytics.contract.batch import MENDED_COLUMNS, Batch, FileRead
from analytics.contract.tables import TABLES
from analytics.intake import Keyring, Known, check
from analytics.intake.by_hand import sheet_of_rows
from analytics.store import Store
from analytics.store.committing import commit

BY_HAND = "by hand: "
"""Begins the name that a load by hand has where a file's name would stand."""
KEPT_OUT = "site_id"
"""A site in force is a code already and would be coded again: it is handed in only where it was typed."""


@dataclass(frozen=True)
class Recorded:
    """What was recorded, and as which load."""

    batch: int
    what: str

    def __str__(self) -> str:
        """The sentence to show."""
        undone = "; it can be taken back under Write down" if allowed("undo") else ""
        return f"Recorded: {self.what}. It is load {self.batch}{undone}."


@dataclass(frozen=True)
class Entry:
    """What is to be recorded.

    ``kind`` names the load, before the key of its first row; ``what`` is the same in words, for the sentence;
    ``tables`` are the new rows, whole, as text, a job's own first.
    """

    kind: str
    what: str
    tables: Tables


def hand_in(path: Path, job_id: str, make: Callable[[Records, JobRows], Entry]) -> Recorded:
    """Put rows of the job ``job_id`` into the store, made from its rows in force; see ``hand_in_rows``."""

    def of_job(records: Records) -> tuple[Frames, Entry]:
        before = JobRows.of(records, job_id)
        return before.frames, make(records, before)

    return hand_in_rows(path, of_job)


def hand_in_rows(path: Path, make: Callable[[Records], tuple[Frames, Entry]]) -> Recorded:
    """Put rows into the store at ``path``, all of them or none.

    Args:
        path: the store.
        make: from the records as they stand while nobody else may write, the rows in force that the new ones may change
            or refer to, by table in the contract's types, and what is to be recorded.

    Raises:
        RefusedError: with every reason, in the words of the form; or where nothing would change.
    """
    with Store.existing(path).turns.writing("record"):
        records = Records.of(path)
        with records.store.reading():
            before, entry = make(records)
            keyring = Keyring.of_store(path, records.store.meta("key_fingerprint"))
        load = _named(entry.kind, *next(iter(entry.tables.items())))[0]
        sheets = [sheet_of_rows(name, rows, load) for name, rows in entry.tables.items()]
        batch = check(sheets, keyring, Known.of(before), today=datetime.now(UTC).astimezone().date())
        refuse_rejects(batch, entry.tables)
        _refuse_same(batch, before)
        sealed = _sealed(_told_apart(batch, entry.tables))
        keep_codes(keyring)
        with changing(records.store, "record"):
            number, _ = commit(records.store, sealed, key_fingerprint=keyring.fingerprint, act=acting(path))
    return Recorded(number, entry.what)


def changed(row: Row, typed: Mapping[str, str]) -> Row:
    """A row in force with what was typed over it; without its site where none was typed."""
    kept = {name: text for name, text in row.items() if name != KEPT_OUT or name in typed}
    return kept | {name: text.strip() for name, text in typed.items() if name in row}


def new_row(table: str, typed: Mapping[str, str]) -> Row:
    """A new row of a table: what was typed, nothing elsewhere."""
    return changed(dict.fromkeys(TABLES[table].column_names(), ""), typed)


def _refuse_same(batch: Batch, before: Frames) -> None:
    for name, table in batch.tables.items():
        told = [column for column in table.clean.columns if column not in table.absent]
        if table.clean.join(before[name], on=told, how="anti", nulls_equal=True).height:
            return
    raise RefusedError("Nothing recorded: all of it is in the records already.")


def _named(kind: str, table: str, rows: Sequence[Row]) -> list[str]:
    """What stands for each row where a file's name would: its kind and its key."""
    return [" ".join((f"{BY_HAND}{kind}", *(row[key] for key in TABLES[table].primary_key()))) for row in rows]


def _told_apart(batch: Batch, tables: Tables) -> Batch:
    """The batch with a name for each row: what is odd about one stays until that one is written down again."""
    names = {table: pl.Series(_named(table.removesuffix("s"), table, rows)) for table, rows in tables.items()}
    checked = {}
    for name, table in batch.tables.items():
        file = names[name].gather(table.warnings["row"] - 1)
        checked[name] = replace(table, warnings=table.warnings.with_columns(file=file, row=pl.lit(1, pl.Int64)))
    places = [(table, file, 1) for table, files in names.items() for file in files]
    return replace(batch, tables=checked, mended=pl.DataFrame(places, schema=MENDED_COLUMNS, orient="row"))


def _sealed(batch: Batch) -> Batch:
    """The batch with hashes of its rows as they are kept: of a typed site, say, a hash could be guessed."""
    hashes = {
        name: hashlib.sha256(table.clean.write_csv().encode()).hexdigest() for name, table in batch.tables.items()
    }
    return replace(batch, files=tuple(FileRead(file.table, file.file, hashes[file.table]) for file in batch.files))

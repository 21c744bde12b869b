"""Rejected rows that are in no file any more: taken off the list, as a load by hand that can be taken back."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from analytics.answers.acting import acting, changing
from analytics.answers.handing_in import BY_HAND, Recorded
from analytics.answers.loading import rejects
from analytics.answers.not_recorded import RefusedError
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract.batch import MENDED_COLUMNS, WAITING_COLUMNS, Batch, CheckedTable, FileRead, no_rows
from analytics.contract.descriptions import one_of
from analytics.contract.tables import TABLES
from analytics.intake import Keyring
from analytics.store import Store
from analytics.store.committing import commit


@dataclass(frozen=True)
class WaitingRow:
    """A rejected row that waits to be mended: where it was read, and its key, empty where that could not be read."""

    table: str
    file: str
    row: int
    key: str

    def __str__(self) -> str:
        """As a person finds it: ``row 3 of jobs.csv (job A-2)``."""
        return f"row {self.row} of {self.file} ({f'{one_of(self.table)} {self.key}'.strip()})"


def waiting_rows(faults: pl.DataFrame) -> list[WaitingRow]:
    """The rows of rejected cells (as in ``loading.rejects``), each once, in their order."""
    rows = faults.select("table", "file", "row", pl.col("key").fill_null("")).unique(maintain_order=True)
    return [WaitingRow(*row) for row in rows.iter_rows()]


@needs("load")
def set_aside(path: Path, named: str) -> Recorded:
    """Take a rejected row, ``named`` as it says itself, off the list; what was rejected and why stays kept.

    RefusedError where none so named waits.
    """
    with Store.existing(path).turns.writing("record"):
        records = Records.of(path)
        row = next((each for each in waiting_rows(rejects(records)) if str(each) == named), None)
        if row is None:
            raise RefusedError.because("that row waits no longer: look at the list again")
        fingerprint = Keyring.of_store(path, records.store.meta("key_fingerprint")).fingerprint
        with changing(records.store, "record"):
            number, _ = commit(records.store, _read_as(row), key_fingerprint=fingerprint, act=acting(path))
    return Recorded(number, f"{row} is taken off the list")


def _read_as(row: WaitingRow) -> Batch:
    """A load without rows that says of this one, by its key or else its place, that nothing of it is waited for."""
    place = (row.table, row.file, row.row)
    names = TABLES[row.table].primary_key()
    key = [(*place, json.dumps(dict(zip(names, row.key.split(" "), strict=True))))] if row.key else []
    read = CheckedTable((), read=0, waiting=pl.DataFrame(key, schema=WAITING_COLUMNS, orient="row"))
    mended = no_rows(MENDED_COLUMNS) if key else pl.DataFrame([place], schema=MENDED_COLUMNS, orient="row")
    sha256 = hashlib.sha256(json.dumps([*place, row.key]).encode()).hexdigest()
    return Batch({row.table: read}, (FileRead(row.table, f"{BY_HAND}{row} taken off the list", sha256),), mended=mended)

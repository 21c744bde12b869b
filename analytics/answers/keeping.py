"""Keeping the records safe: backups, restoring, checking, upgrading, and their history."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import polars as pl

from analytics.answers.acting import acting, beside, write_whole
from analytics.answers.records import Records, policy_path
from analytics.contract.rows import Rows
from analytics.errors import DamagedStoreError, StoreError
from analytics.intake import Keyring, private_path
from analytics.store import Store
from analytics.store.auditing import START
from analytics.store.automatic import automatic
from analytics.store.backing_up import back_up
from analytics.store.checking import Checked, Fault
from analytics.store.checking import check as check_store
from analytics.store.migrating import upgrade as bring_up
from analytics.store.restoring import last_sound, no_backup
from analytics.store.restoring import restore as put_back
from analytics.store.told import told


@dataclass(frozen=True)
class BackedUp:
    """A finished backup, and what was found in it."""

    backup: Path
    found: Checked

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        return {"backup": str(self.backup), **_held(self.found)}


@dataclass(frozen=True)
class Restored:
    """A store put back: from which backup, what is in it, and where the file that was there is kept."""

    store: Path
    backup: Path
    found: Checked
    kept: Path | None
    has_private_file: bool

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        kept = None if self.kept is None else str(self.kept)
        return {"store": str(self.store), "from": str(self.backup), "kept": kept, **_held(self.found)}


@dataclass(frozen=True)
class Inspected:
    """A check of a store, and the automatic backups there are, the latest first.

    ``private_file`` says what is wrong with the file that holds the key to the codes; empty where it fits.
    """

    store: Path
    found: Checked
    backups: tuple[Path, ...]
    private_file: str = ""

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        faults = Rows(map(asdict, self.found.faults), (field.name for field in fields(Fault)))
        backups = [str(path) for path in self.backups]
        said = {"faults": faults, "backups": backups, "private_file": self.private_file or None}
        return {"sound": self.found.is_sound, **_held(self.found), **said}


@dataclass(frozen=True)
class Upgraded:
    """A store brought up from one version to another; ``backup`` None where there was nothing to do."""

    store: Path
    before: int
    now: int
    backup: Path | None

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        backup = None if self.backup is None else str(self.backup)
        return {"versions": {"from": self.before, "to": self.now}, "backup": backup}


@dataclass(frozen=True)
class History:
    """The audit trail and the loads in force, the last first.

    ``trail``: number, acted_at, what, load, by_whom, details (JSON), hash. ``loads``: one row a load, table and file.
    """

    trail: pl.DataFrame
    loads: pl.DataFrame

    @property
    def head(self) -> str:
        """The last entry's hash: kept elsewhere, it proves the trail up to it."""
        return START if self.trail.is_empty() else str(self.trail["hash"][0])

    def answer(self) -> dict[str, object]:
        """The contract's answer."""
        rows = (row | {"details": told(row["what"], row["details"])} for row in self.trail.to_dicts())
        return {"head": self.head, "rows": Rows(rows, self.trail.columns), "loads": self.loads.to_dicts()}


def backup(store: Path, target: Path) -> BackedUp:
    """Back the store up to ``target``, with the private file and the policy beside it."""
    return BackedUp(target, back_up(Store.existing(store), target, beside=beside(store)))


def restore(store: Path, source: Path | None) -> Restored:
    """Put a backup in the store's place, the latest sound automatic one where none is named."""
    taken = source or last_sound(store)
    fingerprint = _fingerprint(taken) if taken.is_file() else None
    put_private = _private_file(taken, store, fingerprint)

    def put(_: Path) -> None:
        put_private()
        if policy_path(taken).is_file() and not policy_path(store).exists():
            write_whole(policy_path(store), policy_path(taken).read_bytes())

    found, kept = put_back(Store(store), taken, acting(store), beside=put)
    return Restored(store, taken, found, kept, fingerprint is None or private_path(store).exists())


def _fingerprint(backup: Path) -> str | None:
    """Of the key to a backup's codes; DamagedStoreError where the file cannot be opened as a store."""
    try:
        return Store(backup).meta("key_fingerprint")
    except DamagedStoreError as error:
        raise no_backup(backup) from error


def check(store: Path) -> Inspected:
    """Read the whole store and hold it against its own books."""
    if not store.exists():
        raise StoreError(f"no store at {store}: name one with --store")
    found = check_store(Store(store))
    return Inspected(store, found, tuple(automatic(store)), _private_file_fault(store) if found.is_sound else "")


def _private_file_fault(store: Path) -> str:
    try:
        Keyring.of_store(store, Store(store).meta("key_fingerprint"))
    except StoreError as error:
        return str(error)
    return ""


def upgrade(store: Path) -> Upgraded:
    """Bring a store of an older version up to this program's, with a backup first."""
    if not store.is_file():
        raise StoreError(f"no store at {store}: name one with --store")
    return Upgraded(store, *bring_up(Store(store), acting(store), beside=beside(store)))


def history(records: Records) -> History:
    """What changed the records, and the loads in force."""
    return History(records.ask("audit_trail"), records.ask("load_ledger"))


def _private_file(backup: Path, store: Path, fingerprint: str | None) -> Callable[[], None]:
    """What puts the private file in place that goes with a backup; StoreError where another store's is in the way.

    One that fits is left as it is: it knows every name the backup's knows. A damaged one is kept under another name.
    """
    ours, theirs = private_path(store), private_path(backup)
    if fingerprint is None or (ours.exists() and _fits(store, fingerprint)):
        return _nothing
    if ours.exists() and _fits(store, None):
        raise StoreError(
            f"{ours} holds the key of another store than {backup} was made of: "
            "move it elsewhere first, or restore under another --store"
        )
    if not theirs.exists():
        return _nothing
    Keyring.of_store(backup, fingerprint)

    def put() -> None:
        if ours.exists():
            ours.rename(ours.with_name(f"{ours.name}.damaged"))
        write_whole(ours, theirs.read_bytes())

    return put


def _fits(store: Path, fingerprint: str | None) -> bool:
    try:
        Keyring.of_store(store, fingerprint)
    except StoreError:
        return False
    return True


def _nothing() -> None:
    """Nothing to put in place."""


def _held(found: Checked) -> dict[str, Any]:
    return {
        "version": found.version,
        "loads": found.loads,
        "rows": found.rows,
        "audit_entries": found.entries,
        "head": found.head,
    }

"""Putting a backup in a store's place, checked first; what was there is kept under another name."""

from pathlib import Path

import duckdb

from analytics.errors import DamagedStoreError, LeakbackError, StoreError
from analytics.store import auditing
from analytics.store.auditing import Act
from analytics.store.automatic import automatic
from analytics.store.backing_up import Beside, backups_folder
from analytics.store.checking import Checked, check
from analytics.store.copying import copy, draft_of
from analytics.store.database import Store
from analytics.store.migrating import bring_up
from analytics.store.placing import LOGS, put_in_place, refusals, sync
from analytics.store.schema import VERSION


def restore(store: Store, backup: Path, act: Act, *, beside: Beside | None = None) -> tuple[Checked, Path | None]:
    """Put a sound backup in the store's place, brought up where it is of an older version.

    Returns:
        What was found in it, and where the file that was there is kept; None where there was none.
    """
    if not backup.is_file():
        raise LeakbackError(f"no backup at {backup}: name one of {_known(store)}")
    if store.path.exists() and backup.samefile(store.path):
        raise LeakbackError(f"{backup} is the store itself: name a backup of it")
    with store.turns.alone("restore"), draft_of(store.path) as draft:
        found = _draft(backup, draft, act)
        _tell(draft, store, backup, act)
        if beside is not None:
            beside(store.path)
        kept = _keep(store) if store.path.exists() else None
        put_in_place(draft, store.path)
    return found, kept


def last_sound(store: Path) -> Path:
    """The latest automatic backup that is sound; StoreError where there is none.

    One of an older version is looked at when it is brought up.
    """
    for backup in automatic(store):
        found = check(Store(backup))
        if found.is_sound or (found.version is not None and found.version < VERSION):
            return backup
    raise StoreError(f"no sound backup of {store} is kept beside it: name the file of one with `leakback restore FILE`")


def no_backup(backup: Path) -> DamagedStoreError:
    """The error where a file that was named as a backup cannot be opened as one."""
    return DamagedStoreError(
        f"{backup} is damaged or no store, so nothing was restored: name another backup of the store"
    )


def _known(store: Store) -> str:
    return ", ".join(str(path) for path in automatic(store.path)) or "your own; none was made automatically"


def _draft(backup: Path, draft: Path, act: Act) -> Checked:
    """Copy the backup, bring the copy up, and check it."""
    try:
        version = Store(backup).version()
        if version > VERSION:
            raise StoreError(f"{backup} is of version {version}; this program reads version {VERSION}: update it")
        copy(backup, draft)
    except DamagedStoreError as error:
        raise no_backup(backup) from error
    if version < VERSION:
        bring_up(Store.draft(draft), act, version)
    found = check(Store.draft(draft))
    if not found.is_sound:
        raise DamagedStoreError(f"{backup} is not sound, so nothing was restored: {found.faults[0].said}")
    return found


def _tell(draft: Path, store: Store, backup: Path, act: Act) -> None:
    """Write the restoring into the draft's trail, with the number of the last load, which is never given again."""
    last, replaced = _last_of(store)
    with Store.draft(draft).change() as connection:
        last = max(last, auditing.next_load(connection) - 1)
        auditing.append(connection, act, "restore", {"from": backup.name, "replaced": replaced}, load=last or None)


def _last_of(store: Store) -> tuple[int, str | None]:
    """The last load and the trail's head of the store that is replaced, where they can still be read."""
    if not store.path.exists():
        return 0, None
    try:
        with store.opened(read_only=True) as connection:
            return auditing.next_load(connection) - 1, auditing.head(connection)[1]
    except (StoreError, duckdb.Error):
        return 0, None


def _keep(store: Store) -> Path:
    """Give the file that is in the way a name among the backups; its own name it keeps until it is replaced."""
    folder = backups_folder(store.path)
    logs = () if _takes_its_log_in(store) else LOGS
    for stale in folder.glob("replaced-*.duckdb"):
        if stale.samefile(store.path):  # of a restore that was killed
            stale.unlink()
    number = max((int(path.stem.removeprefix("replaced-")) for path in folder.glob("replaced-*.duckdb")), default=0) + 1
    kept = folder / f"replaced-{number:06d}.duckdb"
    with refusals(kept):
        try:
            kept.hardlink_to(store.path)
        except OSError:  # a disk that gives a file one name only
            store.path.rename(kept)
        for ending in logs:
            log = store.path.with_name(store.path.name + ending)
            if log.exists():
                log.rename(kept.with_name(kept.name + ending))
        sync(folder)
    return kept


def _takes_its_log_in(store: Store) -> bool:
    """Open the store for writing once: no other program can hold it then, and its log is in the file afterwards."""
    try:
        with store.opened(read_only=False):
            return True
    except DamagedStoreError:
        return False

"""Backups: under their own name only once they are finished, and the automatic ones kept in turn."""

from collections.abc import Callable
from pathlib import Path

from analytics.errors import DamagedStoreError, LeakbackError
from analytics.store import auditing
from analytics.store.automatic import NAME, automatic, folder_of
from analytics.store.checking import Checked, check
from analytics.store.copying import copy, copy_as_it_lies, draft_of
from analytics.store.database import Store
from analytics.store.placing import owner_only, put_in_place, refusals

Beside = Callable[[Path], None]
"""Puts what belongs beside a copy of the store in its place, given the copy's path."""

KEPT = 5
"""Automatic backups kept, unless the policy says another number."""


def back_up(store: Store, target: Path, *, beside: Beside | None = None) -> Checked:
    """Copy the store to ``target``, checked; whatever lay there is replaced only by a finished copy."""
    if target.is_dir():
        raise LeakbackError(f"{target} is a folder: name the backup's file in it")
    if not target.parent.is_dir():
        raise LeakbackError(f"no folder {target.parent} for the backup: make it first")
    if target.exists() and target.samefile(store.path):
        raise LeakbackError(f"{target} is the store itself: choose another name for the backup")
    with draft_of(target) as draft:
        with store.turns.alone("backup"):
            copy(store.path, draft)
        found = check(Store.draft(draft))
        if not found.is_sound:
            raise DamagedStoreError(f"{store.path} is not sound, so it was not backed up: see `leakback check`")
        if beside is not None:
            beside(target)
        put_in_place(draft, target)
    return found


def keep_backup(store: Store, *, kept: int = KEPT, beside: Beside | None = None) -> Path | None:
    """Keep an automatic backup of the store as it is, unless the latest is of this very state; drop the oldest.

    Returns:
        The backup's file; None where nothing was ever loaded.
    """
    with store.turns.alone("backup"):
        with store.opened(read_only=True) as connection:
            entries, head = auditing.head(connection)
            is_empty = not connection.execute("select 1 from loads limit 1").fetchall()
        if is_empty and not entries:
            return None
        before = automatic(store.path)
        if entries and before and _part(before[0], "head") == head[:12]:
            return before[0]
        number = int(_part(before[0], "number")) + 1 if before else 1
        folder = backups_folder(store.path)
        for left in folder.glob(".*.part*"):  # by a program that was killed
            left.unlink()
        target = folder / f"{number:06d}-{head[:12]}.duckdb"
        with draft_of(target) as draft:
            copy_as_it_lies(store, draft)
            if beside is not None:
                beside(target)
            put_in_place(draft, target)
        for old in before[max(kept, 1) - 1 :]:
            _drop(old)
    return target


def backups_folder(store: Path) -> Path:
    """Where a store's automatic backups lie, for its owner only."""
    folder = folder_of(store)
    with owner_only(), refusals(folder):
        folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def _part(backup: Path, part: str) -> str:
    found = NAME.match(backup.name)
    if found is None:
        raise ValueError(f"{backup} is no automatic backup")
    return found[part]


def _drop(backup: Path) -> None:
    backup.unlink(missing_ok=True)
    for companion in backup.parent.glob(f"{backup.stem}.*"):
        companion.unlink(missing_ok=True)

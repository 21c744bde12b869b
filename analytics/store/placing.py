"""Files put in place whole, for their owner only; what a disk or a folder refuses, in words."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from analytics.errors import CannotWriteError, StoreError
from analytics.holding import until_all_left

LOGS = (".wal", ".wal.checkpoint", ".wal.recovery")
"""What the engine may keep beside a file, by the ending of its name."""
_NO_ROOM = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT}


@until_all_left
@contextmanager
def owner_only() -> Iterator[None]:
    """Files made meanwhile can be read by their owner only, the engine's log among them."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)


def put_in_place(draft: Path, path: Path) -> None:
    """Give a finished file its name, on the disk too: at every instant either the old one or the new one is there."""
    with refusals(path):
        sync(draft)
        draft.replace(path)
        sync(path.parent)


def sync(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk. Never a store that may be open."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def forget(path: Path) -> None:
    """Remove a draft and what the engine kept beside it, where an earlier try was killed."""
    for ending in ("", *LOGS):
        path.with_name(path.name + ending).unlink(missing_ok=True)


@contextmanager
def refusals(path: Path) -> Iterator[None]:
    """What the disk or the folder of ``path`` refuses, as an error that says what to do."""
    try:
        yield
    except OSError as error:
        raise refused(path, error) from error


def refused(path: Path, error: OSError) -> StoreError:
    """What to do about a file or a folder that cannot be written."""
    if error.errno in _NO_ROOM:
        return no_room(path)
    if error.errno in {errno.ENOENT, errno.ENOTDIR} and not path.parent.is_dir():
        return StoreError(f"no folder {path.parent}: make it, or choose another --store")
    reason = os.strerror(error.errno or 0).lower()
    return CannotWriteError(f"{path} cannot be written ({reason}): allow it, or choose another --store")


def no_room(path: Path) -> CannotWriteError:
    """The disk is full."""
    return CannotWriteError(f"no room left on the disk of {path}: free some and try again; nothing was lost")

"""Room on the disk for what does not fit into the engine's memory: a hidden folder beside the store, gone afterwards.

Rows that were spilt would outlive a killed program. So the folder is its owner's only, whoever has the store open
shares its lock, and whoever finds nobody else there clears away what is left.
"""

import fcntl
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_OURS = secrets.token_hex(8)
"""Names what this program spills: two programs would take each other's files for their own."""


@contextmanager
def room_to_spill(store: Path) -> Iterator[Path | None]:
    """Where to spill while a store is open; None where its folder cannot be written by us."""
    folder = Path(os.path.realpath(store.with_name(f".{store.name}.spill")))
    try:
        handle = _entered(folder)
    except OSError:
        handle = None
    if handle is None:
        yield None
        return
    try:
        yield folder / f"{os.getpid()}-{_OURS}"
    finally:
        with suppress(OSError):
            if _is_alone(handle):
                folder.rmdir()
        os.close(handle)


def _entered(folder: Path) -> int:
    """The folder, made and cleared where nobody else is in it, and its lock shared."""
    while True:
        with suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        try:
            handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        except FileNotFoundError:  # whoever left last has just removed it
            continue
        try:
            os.fchmod(handle, 0o700)
            if _is_alone(handle):
                for left in folder.iterdir():
                    shutil.rmtree(left)
            fcntl.flock(handle, fcntl.LOCK_SH)
            if folder.exists() and os.path.samestat(os.fstat(handle), folder.stat()):
                return handle
        except OSError:
            os.close(handle)
            raise
        os.close(handle)


def _is_alone(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True

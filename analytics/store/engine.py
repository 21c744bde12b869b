"""The engine's settings, and what its errors mean to a person."""

import os
import re
from functools import cache
from pathlib import Path

import duckdb

from analytics.errors import CannotWriteError, DamagedStoreError, StoreError
from analytics.store.automatic import automatic
from analytics.store.placing import no_room

MEBIBYTE = 2**20
LEAST_MEMORY_MIB, MOST_MEMORY_MIB = 256, 2048
MOST_THREADS = 8
MEMORY_LIMITS_OF_A_CONTAINER = (
    Path("/sys/fs/cgroup/memory.max"),
    Path("/sys/fs/cgroup/memory/memory.limit_in_bytes"),
)

CLOSED: dict[str, str] = {"enable_external_access": "false", "lock_configuration": "true"}
"""No file but the store's own, and no setting changed from then on."""

_OF_OURS = (
    duckdb.BinderException,
    duckdb.CatalogException,
    duckdb.ConstraintException,
    duckdb.InvalidInputException,
    duckdb.InvalidTypeException,
    duckdb.ParserException,
    duckdb.SyntaxException,
)
_HOLDER = re.compile(r"Conflicting lock is held in (?P<program>.+?) \(PID (?P<process>\d+)\)")
_NO_ROOM = ("No space left", "File too large", "Disk quota exceeded")
_NOT_ALLOWED = ("Permission denied", "Read-only file system", "Operation not permitted")
_NEWER = ("newer version", "upgrade your DuckDB", "version number")


@cache
def settings() -> dict[str, str]:
    """Half of the machine's memory within bounds, its processors, nothing fetched and nothing spilt.

    Every connection of a process is opened with the same settings: the engine refuses two kinds at once.
    """
    return {
        "memory_limit": f"{memory_mib(_machine_memory_mib())}MiB",
        "threads": str(min(_processors(), MOST_THREADS)),
        "max_temp_directory_size": "0B",
        "autoinstall_known_extensions": "false",
        "autoload_known_extensions": "false",
        "allow_community_extensions": "false",
    }


def closed_settings(spill: Path | None = None) -> dict[str, str]:
    """The settings of a connection to one store: no file but its own, and those below ``spill`` where that is given.

    What is spilt may take the engine's usual nine tenths of what is free on the disk.
    """
    if spill is None:
        return settings() | CLOSED
    kept = {name: value for name, value in settings().items() if name != "max_temp_directory_size"}
    return kept | CLOSED | {"temp_directory": str(spill)}


def memory_mib(machine_mib: int) -> int:
    """How much of a machine's memory the engine may take: half of it, from 256 MiB to 2 GiB."""
    return max(LEAST_MEMORY_MIB, min(machine_mib // 2, MOST_MEMORY_MIB))


def _machine_memory_mib() -> int:
    found = [os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")]
    for limit in MEMORY_LIMITS_OF_A_CONTAINER:
        try:
            found.append(int(limit.read_text(encoding="ascii")))
        except (OSError, ValueError):  # not there, or "max": no limit
            continue
    return min(found) // MEBIBYTE


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def is_busy(error: duckdb.Error) -> bool:
    """Whether another connection holds the file, so that waiting helps."""
    text = str(error)
    return "Could not set lock" in text or "different configuration" in text or "Unique file handle conflict" in text


def holder(error: duckdb.Error) -> str:
    """Which program holds the file, as ``python3.11 (process 4711)``."""
    found = _HOLDER.search(str(error))
    return f"{Path(found['program']).name} (process {found['process']})" if found else "another program"


def understood(error: duckdb.Error, path: Path) -> Exception:
    """The error to raise for one of the engine's: the same one where the mistake is in our own SQL."""
    if isinstance(error, _OF_OURS):
        return error
    text = str(error)  # the cause may stand in a later line
    if any(words in text for words in _NO_ROOM):
        return no_room(path)
    if any(words in text for words in _NOT_ALLOWED):
        return CannotWriteError(f"{path} cannot be written or read by you: allow it, or choose another --store")
    if any(words in text for words in _NEWER):
        return StoreError(f"{path} was written by a newer version of the database engine: update leakback")
    if isinstance(error, duckdb.OutOfMemoryException):
        limit = settings()["memory_limit"]
        return StoreError(
            f"{path}: this needs more than the {limit} set from this machine's memory: ask for less at once"
        )
    return damaged(path, first_line(error))


def damaged(path: Path, said: str) -> DamagedStoreError:
    """The file is not what was written: what to do about it, where it ever was a store with backups beside it."""
    do = (
        f"`leakback restore --store {path}` puts the last good backup in its place"
        if automatic(path)
        else "name the store's file with --store; no automatic backup of this one is kept beside it"
    )
    return DamagedStoreError(f"{path} cannot be opened as a store, or is damaged ({said}): {do}")


def first_line(error: Exception) -> str:
    """The first line of an engine's message."""
    return str(error).splitlines()[0]

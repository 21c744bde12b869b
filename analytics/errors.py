"""Every error a user can cause. The message says what is wrong, where, and what to do next."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from pathlib import Path

EXAMPLES_SHOWN = 3


class LeakbackError(Exception):
    """The call or its input was wrong. The message is one line, fit to print."""


class StoreError(LeakbackError):
    """The store is missing, held by another program, or not one of ours."""


class DamagedStoreError(StoreError):
    """The store's file does not hold what was written to it."""


class CannotWriteError(StoreError):
    """The store can be read but not written: its folder is read-only, or its disk is full."""


class RecordsMovedError(StoreError):
    """Another program changed the records while they were being read; asking again answers from the new ones."""

    def __init__(self, store: Path) -> None:
        """Say whose records changed; ``store`` is kept for who asks again."""
        self.store = store
        super().__init__(f"the records in {store} changed while they were being read: ask again")


class UnreadableFileError(LeakbackError):
    """A file cannot be read as one of the contract's tables."""


class MapError(LeakbackError):
    """A column map holds a key, a header or a value it may not hold."""


class PolicyError(LeakbackError):
    """The policy file holds a key or a value it may not hold."""


class PeopleError(LeakbackError):
    """The list of people holds a line it may not hold, or is open to others on this computer."""


class SignInError(LeakbackError):
    """The dashboard would be open to people who have not signed in."""


class NotAllowedError(LeakbackError):
    """The role of who asks does not allow it; the message says whose does."""


class TooFewError(LeakbackError):
    """There is too little history to answer; the message says how much more would do."""


class UnknownNameError(LeakbackError):
    """A name that is not among those known."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        """Say which ``kind`` of name was not found, and the nearest or all of the known ones."""
        choices = sorted(known)
        near = get_close_matches(name.lower(), choices, n=1, cutoff=0.5)
        one = f"it is one of {', '.join(choices)}." if choices else f"there is no {kind} yet."
        hint = f"did you mean {near[0]}?" if near else one
        super().__init__(f"unknown {kind} {name!r}: {hint}")


def counted(items: Sequence[object], noun: str) -> str:
    """Say how many there are and name the first three: ``5 rows (a, b, c, …)``."""
    shown = ", ".join(str(item) for item in items[:EXAMPLES_SHOWN])
    more = ", …" if len(items) > EXAMPLES_SHOWN else ""
    return f"{len(items)} {noun} ({shown}{more})"

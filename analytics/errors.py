"""Every error a user can cause. The message says what is wrong, where, and what to do next."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

EXAMPLES_SHOWN = 3


class LeakbackError(Exception):
    """The call or its input was wrong. The message is one line, fit to print."""


class StoreError(LeakbackError):
    """The store is missing, held by another program, or not one of ours."""


class UnreadableFileError(LeakbackError):
    """A file cannot be read as one of the contract's tables."""


class PolicyError(LeakbackError):
    """The policy file holds a key or a value it may not hold."""


class TooFewError(LeakbackError):
    """There is too little history to answer; the message says how much more would do."""


class UnknownNameError(LeakbackError):
    """A name that is not among those known."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        """Say which ``kind`` of name was not found, and the nearest or all of the known ones."""
        choices = sorted(known)
        near = get_close_matches(name.lower(), choices, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]}?" if near else f"it is one of {', '.join(choices)}."
        super().__init__(f"unknown {kind} {name!r}: {hint}")


def counted(items: Sequence[object], noun: str) -> str:
    """Say how many there are and name the first three: ``5 rows (a, b, c, …)``."""
    shown = ", ".join(str(item) for item in items[:EXAMPLES_SHOWN])
    more = ", …" if len(items) > EXAMPLES_SHOWN else ""
    return f"{len(items)} {noun} ({shown}{more})"

"""Reference values of the trade, each with its unit, its source and how sure it is."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from analytics.contract.places import shipped
from analytics.errors import UnknownNameError

FILE = "shared/references.toml"


@dataclass(frozen=True)
class Reference:
    """One value, or one line without a value, and where it comes from.

    ``value`` holds a number, several numbers (lowest and highest, unless ``says`` names them), or None; in ``unit``.
    ``mark`` tells how sure it is: S read in the source's own text, Q read where another text quotes it, M from memory,
    P common practice of the trade without a published source, C arithmetic. ``resin`` is the one it is for; empty where
    it is for any.
    """

    key: str
    value: float | tuple[float, ...] | None
    unit: str
    says: str
    source: str
    mark: str
    resin: str = ""

    @property
    def number(self) -> float:
        """The value of a reference that holds exactly one number; TypeError otherwise."""
        if not isinstance(self.value, float):
            message = f"reference {self.key!r} holds {self.value}, not one number"
            raise TypeError(message)
        return self.value

    @property
    def numbers(self) -> tuple[float, ...]:
        """All numbers of the value: none, one or several."""
        if self.value is None:
            return ()
        return self.value if isinstance(self.value, tuple) else (self.value,)


def reference(key: str) -> Reference:
    """The reference of that key; UnknownNameError where there is none."""
    known = references()
    if key not in known:
        raise UnknownNameError("reference", key, known)
    return known[key]


@cache
def references() -> Mapping[str, Reference]:
    """All references by key, in the order of the file."""
    return MappingProxyType({key: _read(key, entry) for group in _file().values() for key, entry in group.items()})


def safety_lines(resins: Iterable[str | None]) -> tuple[Reference, ...]:
    """The lines a job of these ``resins`` carries, in the order they are shown; None, not settled, may be any."""
    planned = set(resins)
    lines = map(reference, _file()["safety"])
    return tuple(line for line in lines if not line.resin or line.resin in planned or None in planned)


@cache
def _file() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(shipped(FILE).read_text(encoding="utf-8"))


def _read(key: str, entry: Mapping[str, Any]) -> Reference:
    value = entry.get("value")
    return Reference(key=key, **{**entry, "value": tuple(value) if isinstance(value, list) else value})

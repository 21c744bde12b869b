"""Giving people their roles, and taking them back; the list lies beside the store, for its owner only."""

import re
from dataclasses import dataclass
from pathlib import Path

from analytics.answers.acting import person_code, write_whole
from analytics.answers.entrance import people, people_path
from analytics.contract.people import people_text, plain_name
from analytics.contract.roles import RIGHTS, Role
from analytics.errors import PeopleError, UnknownNameError

NAME = re.compile(r"[^\s\"\\]{1,254}")
"""An address or a subject: no space, and nothing a file of text would take amiss."""
COLUMNS = ("name", "role", "code", "does")
"""A row of the answer."""


@dataclass(frozen=True)
class Invited:
    """Somebody with a role, and the code that stands for them in the audit trail; empty without the private file."""

    name: str
    role: Role
    code: str

    def answer(self) -> dict[str, str]:
        """One row of the answer."""
        return dict(zip(COLUMNS, (self.name, self.role, self.code, RIGHTS[self.role].does), strict=True))


def invited(store: Path) -> list[Invited]:
    """Everybody with a role, by role and name."""
    order = list(RIGHTS)
    found = [Invited(name, role, person_code(store, name)) for name, role in people(store).people.items()]
    return sorted(found, key=lambda each: (order.index(each.role), each.name))


def invite(store: Path, name: str, role: Role) -> str:
    """Give somebody a role, in place of the one they have; their name as it is kept."""
    name = plain_name(name)
    if not NAME.fullmatch(name) or not name.isprintable():
        raise PeopleError(f"{name!r} cannot be what somebody signs in with: give an address, or a provider's subject")
    _write(store, {**people(store).people, name: role})
    return name


def turn_away(store: Path, name: str) -> None:
    """Take somebody's role back; UnknownNameError where they have none."""
    known, name = dict(people(store).people), plain_name(name)
    if name not in known:
        kind = "person"
        raise UnknownNameError(kind, name, known)
    del known[name]
    _write(store, known)


def _write(store: Path, known: dict[str, Role]) -> None:
    write_whole(people_path(store), people_text(known).encode())

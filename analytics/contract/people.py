"""Who of a business may open its dashboard, and as what: one line a person in a file beside the store."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import get_args

from pydantic import ValidationError

from analytics.contract.declared import Declared
from analytics.contract.roles import RIGHTS, ROLES, Role
from analytics.errors import PeopleError, UnknownNameError

HEAD = """\
# Who may open the dashboard, and as what: the address a person signs in with, and a role.
# Where the provider vouches for no address, the subject it names a person by stands here instead.
"""


class People(Declared):
    """The roles by who has them: an address in small letters, or a provider's subject."""

    people: Mapping[str, Role] = {}

    def role(self, *names: str | None) -> tuple[str, Role] | None:
        """The first of a person's names that has a role, and the role."""
        return next(((name, self.people[name]) for name in names if name and name in self.people), None)


def read_people(path: Path) -> People:
    """The people in the TOML file at ``path``, nobody where there is none.

    Raises ``PeopleError`` or ``UnknownNameError``, in one line that names the file and the person.
    """
    if not path.exists():
        return People()
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        raise PeopleError(
            f"{path.name} cannot be read as a list of people: it must be a text file in UTF-8."
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise PeopleError(f"{path.name} is not valid TOML: {error}.") from error
    try:
        return People(people=_named_once(People.model_validate(given).people, path.name))
    except ValidationError as error:
        raise _explained(error, path.name) from error


def people_text(people: Mapping[str, Role]) -> str:
    """``people`` as a commented TOML file that reads back as the same."""
    said = [f"# {role}: {RIGHTS[role].does}." for role in ROLES]
    lines = [f"{_quoted(name)} = {_quoted(role)}" for name, role in sorted(people.items())]
    return "\n".join([HEAD.rstrip(), *said, "", "[people]", *lines]) + "\n"


def plain_name(name: str) -> str:
    """A person's name as it is compared: an address without regard to capitals, a subject as it is."""
    name = name.strip()
    return name.casefold() if "@" in name else name


def _named_once(people: Mapping[str, Role], file: str) -> dict[str, Role]:
    """The people under their plain names; PeopleError where two lines are one person's."""
    plain = {plain_name(name): role for name, role in people.items()}
    if len(plain) < len(people):
        twice = next(name for name in plain if sum(plain_name(other) == name for other in people) > 1)
        raise PeopleError(f"{file}: {twice} stands there twice, in other capitals; leave one line.")
    return plain


def _explained(error: ValidationError, file: str) -> PeopleError | UnknownNameError:
    """The first fault of a people file as one line."""
    fault = error.errors()[0]
    place = [str(part) for part in fault["loc"]]
    if fault["type"] == "extra_forbidden":
        return PeopleError(f'{file}: {place[0]} is no section of it; write [people], then "address" = "role".')
    if fault["type"] == "literal_error":
        return UnknownNameError(f"role of {place[1]} in {file}", str(fault["input"]), get_args(Role))
    return PeopleError(f'{file}: [people] must hold lines of "address" = "role".')


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

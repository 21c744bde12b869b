"""Who may come in where a dashboard is served: whether it asks people to sign in, and who each of them then is."""

import ipaddress
import os
import stat
import time
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlparse

from pydantic import ConfigDict, Field, ValidationError, field_validator
from pydantic_core import ErrorDetails

from analytics.answers.standing import Person
from analytics.contract.declared import Declared
from analytics.contract.people import People, plain_name, read_people
from analytics.errors import PeopleError, SignInError

SIGNED_IN_FOR_HOURS = 12
"""A working day: after that a person signs in anew."""
LEAST_SECRET = 32
CALLBACK = "/oauth2callback"
PROXY_VARIABLE = "LEAKBACK_BEHIND_PROXY"
OTHERS = stat.S_IRWXG | stat.S_IRWXO
OPEN_TO_OTHERS = "{path} can be opened by others on this computer: chmod 600 {path}"


def secrets_path(store: Path) -> Path:
    """Where the sign-in of a store's dashboard is set up; without the file there is none."""
    return store.with_suffix(".secrets.toml")


def people_path(store: Path) -> Path:
    """Where it says who has which role."""
    return store.with_suffix(".people.toml")


class SignIn(Declared):
    """What an OpenID Connect provider gave the business for its dashboard, as Streamlit reads it under ``[auth]``."""

    model_config = ConfigDict(hide_input_in_errors=True)
    redirect_uri: str
    cookie_secret: str = Field(min_length=LEAST_SECRET)
    client_id: str = Field(min_length=1)
    client_secret: str = Field(min_length=1)
    server_metadata_url: str
    client_kwargs: Mapping[str, Any] = {}

    @field_validator("redirect_uri", "server_metadata_url")
    @classmethod
    def _not_in_clear(cls, url: str) -> str:
        found = urlparse(url)
        if found.scheme != "https" and not (found.scheme == "http" and is_loopback(found.hostname or "")):
            raise ValueError("must begin with https://, or anybody on the way could read along")
        return url

    @field_validator("redirect_uri")
    @classmethod
    def _called_back(cls, url: str) -> str:
        if urlparse(url).path != CALLBACK:
            raise ValueError(f"must be the dashboard's own address with {CALLBACK} behind it")
        return url


def is_behind_proxy() -> bool:
    """Whether this server was started with the word that a proxy in front signs people in."""
    return bool(os.environ.get(PROXY_VARIABLE))


def check_entrance(store: Path, host: str, *, behind_proxy: bool) -> bool:
    """Whether people sign in at a dashboard on ``host``.

    Raises:
        SignInError: where strangers could reach it and nobody asks who they are, or the sign-in cannot work.
        PeopleError: where nobody would have a role, or others could read or change who has.
    """
    if asks_to_sign_in(store):
        if not people(store).people:
            raise PeopleError(
                f"nobody could come in: say who has which role with `leakback people set ADDRESS owner --store {store}`"
            )
        return True
    if behind_proxy or is_loopback(host):
        return False
    raise SignInError(
        f"--host {host}: others could reach it and nobody would ask who they are; set up sign-in in "
        f"{secrets_path(store).name} beside the store, or say --behind-proxy where a proxy in front signs people in"
    )


def asks_to_sign_in(store: Path) -> bool:
    """Whether sign-in is set up; SignInError where it is, but not soundly. No message holds a secret."""
    path = secrets_path(store)
    if not path.exists():
        return False
    if others_can_open(path):
        raise SignInError(OPEN_TO_OTHERS.format(path=path))
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise SignInError(f"{path} cannot be read as TOML: it holds the sign-in under [auth]") from error
    try:
        SignIn.model_validate(given.get("auth", {}))
    except ValidationError as error:
        raise SignInError(f"{path}: {_fault_said(error.errors(include_input=False)[0])}") from None
    return True


def _fault_said(fault: ErrorDetails) -> str:
    """A fault of the sign-in's settings, without what stands there."""
    key = ".".join(("auth", *map(str, fault["loc"])))
    if fault["type"] == "value_error":
        return f"{key} {fault['ctx']['error']}"
    said = {
        "missing": "is missing",
        "extra_forbidden": "is not one of its settings",
        "string_too_short": f"is too short; cookie_secret needs {LEAST_SECRET} random letters and digits",
    }
    return f"{key} {said.get(fault['type'], 'does not fit: it must be a text between quotes')}"


def people(store: Path) -> People:
    """Who has which role; PeopleError where others could read or change it."""
    path = people_path(store)
    if path.exists() and others_can_open(path):
        raise PeopleError(OPEN_TO_OTHERS.format(path=path))
    return read_people(path)


def person(store: Path, claims: Mapping[str, Any]) -> Person:
    """Who somebody is by what their provider says of them: their role is that of their address or their subject.

    An address counts only where the provider vouches for it: anybody may claim one.
    """
    address = (
        plain_name(str(claims.get("email") or "")) if str(claims.get("email_verified")).lower() == "true" else None
    )
    subject = str(claims.get("sub") or "") or None
    found = people(store).role(address, subject)
    return Person(found[1], found[0]) if found else Person(None, address or subject)


def is_stale(claims: Mapping[str, Any], now: float | None = None) -> bool:
    """Whether somebody signed in too long ago, or it is not known when."""
    at = claims.get("iat")
    now = time.time() if now is None else now
    return not isinstance(at, int | float) or now - at > SIGNED_IN_FOR_HOURS * 3600


def is_loopback(host: str) -> bool:
    """Whether only this computer reaches an address."""
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def is_asked_for_here(host: str | None) -> bool:
    """Whether a request's ``Host`` names this computer: another site's name that leads here, or a proxy's, does not."""
    return host is None or is_loopback(urlparse(f"//{host}").hostname or "")


def others_can_open(path: Path) -> bool:
    """Whether anybody but its owner may read or write a file."""
    return os.name == "posix" and bool(path.stat().st_mode & OTHERS)

"""A dashboard that people sign in to, somebody of each role among them, and how a browser does it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from analytics.answers.entrance import secrets_path
from analytics.answers.inviting import invite
from analytics.contract.roles import ROLES, Role
from tests.browser.conftest import arrived, free_port, served
from tests.browser.provider import CLIENT, Provider

COOKIE_SECRET = "c00kie-" + "s" * 40
PEOPLE: dict[Role, str] = {role: f"{role}@example.org" for role in ROLES}
VOUCHED_FOR: dict[str, dict[str, Any]] = {
    role: {"email": name, "email_verified": True} for role, name in PEOPLE.items()
}
"""The provider's accounts of the people, by their role."""


@contextmanager
def signed_in_to(store: Path, provider: Provider, log: Path) -> Iterator[str]:
    """The address of a dashboard on ``store`` that asks people to sign in with ``provider``."""
    port = free_port()
    settings = {
        "redirect_uri": f"http://127.0.0.1:{port}/oauth2callback",
        "cookie_secret": COOKIE_SECRET,
        "client_id": CLIENT,
        "client_secret": provider.client_secret,
        "server_metadata_url": f"{provider.url}/.well-known/openid-configuration",
    }
    secrets_path(store).write_text("\n".join(["[auth]", *(f'{key} = "{value}"' for key, value in settings.items())]))
    secrets_path(store).chmod(0o600)
    for role, name in PEOPLE.items():
        invite(store, name, role)
    with served(store, port, log) as url:
        yield url


def sign_in(page: Page, url: str, account: str) -> None:
    """Sign in as one of the provider's accounts."""
    page.goto(url)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name=account, exact=True).click()
    page.wait_for_url(f"{url}/**")
    arrived(page)

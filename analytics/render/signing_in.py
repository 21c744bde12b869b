"""Signing in and out on the screen: who is there, and the pages for who is not let in yet."""

from pathlib import Path

import streamlit as st

from analytics.answers import entrance
from analytics.answers.standing import HERE, Person
from analytics.contract.roles import RIGHTS
from analytics.errors import SignInError
from analytics.pages.page import Words
from analytics.render import markup
from analytics.render.screen import dress

ONLY_HERE = (
    "This dashboard is for this computer alone: open it at http://127.0.0.1 or http://localhost, or start it with "
    "--behind-proxy where a proxy in front signs people in."
)
WELCOME = "Sign in to see this business's records."
STALE = f"You signed in more than {entrance.SIGNED_IN_FOR_HOURS} hours ago: sign in again to go on."
WITHOUT_ROLE = "You are signed in, but you have no role here yet."
ASK_FOR_ONE = "Ask the owner to give you one, with this command on the computer that keeps the records:"
NOT_VOUCHED = "Your provider does not vouch for an e-mail address of yours, so it names you by a subject of its own."


def person(store: Path) -> Person | None:
    """Who is there; None where nobody with a role is, and the page that says what to do has been shown.

    Raises:
        SignInError: where strangers could reach the dashboard and nobody would ask who they are.
    """
    address = str(st.get_option("server.address") or "every address")
    behind_proxy = entrance.is_behind_proxy()
    if not entrance.check_entrance(store, address, behind_proxy=behind_proxy):
        if not behind_proxy and not entrance.is_asked_for_here(st.context.headers.get("Host")):
            raise SignInError(ONLY_HERE)
        return HERE
    if not hasattr(st.user, "is_logged_in"):
        raise SignInError("this dashboard was started without its sign-in: start it with leakback dashboard")
    if not st.user.is_logged_in:
        _asked_to_sign_in(WELCOME, "Sign in")
        return None
    claims = st.user.to_dict()
    if entrance.is_stale(claims):
        _asked_to_sign_in(STALE, "Sign in again")
        return None
    found = entrance.person(store, claims)
    if found.role is None:
        _without_role(store, found, has_address=bool(claims.get("email")))
        return None
    return found


def greet(who: Person) -> None:
    """A quiet line that says who is signed in, with the way out; nothing where nobody has to sign in."""
    if who.name is None or who.role is None:
        return
    st.html(markup.note(f"Signed in as {who.name}, {who.role}."), width="content")
    _sign_out()


def _asked_to_sign_in(why: str, verb: str) -> None:
    dress()
    st.html(markup.answer(why))
    if st.button(verb, type="primary"):
        st.login()


def _without_role(store: Path, who: Person, *, has_address: bool) -> None:
    dress()
    st.html(markup.answer(WITHOUT_ROLE))
    if who.name and "@" not in who.name and has_address:
        st.html(markup.note(NOT_VOUCHED))
    st.html(markup.note(ASK_FOR_ONE))
    st.code(f'leakback people set "{who.name}" ROLE --store {store.name}', language=None, wrap_lines=True)
    roles = "\n\n".join(f"{role}: {rights.does}." for role, rights in RIGHTS.items())
    st.html(markup.paragraphs(Words(roles, "muted")))
    _sign_out()


def _sign_out() -> None:
    if st.button("Sign out", type="tertiary"):
        st.logout()

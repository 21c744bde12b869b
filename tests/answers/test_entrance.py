"""Who may come in: what is refused before a dashboard is served, and who a signed-in person is."""

import os
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.entrance import (
    check_entrance,
    is_asked_for_here,
    is_stale,
    people_path,
    person,
    secrets_path,
)
from analytics.answers.inviting import invite, invited, turn_away
from analytics.answers.standing import Person
from analytics.errors import LeakbackError, PeopleError, SignInError, UnknownNameError

EVERYWHERE = "0.0.0.0"  # noqa: S104 - what must be refused
SECRET = "not-for-any-log-" + "x" * 20
SOUND = {
    "redirect_uri": "https://shop.example.org/oauth2callback",
    "cookie_secret": SECRET,
    "client_id": "a-client",
    "client_secret": SECRET,
    "server_metadata_url": "https://id.example.org/.well-known/openid-configuration",
}


@pytest.fixture
def store(tmp_path: Path) -> Path:
    return tmp_path / "shop.duckdb"


def set_up(store: Path, **changed: object) -> None:
    lines = [f"{key} = {value!r}" for key, value in {**SOUND, **changed}.items() if value is not None]
    secrets_path(store).write_text("\n".join(["[auth]", *lines]) + "\n")
    secrets_path(store).chmod(0o600)


@pytest.mark.parametrize("host", [EVERYWHERE, "::", "192.168.1.7", "shop.example.org", ""])
def test_strangers_could_reach_it(store: Path, host: str) -> None:
    with pytest.raises(SignInError, match=r"nobody would ask who they are.*--behind-proxy"):
        check_entrance(store, host, behind_proxy=False)
    assert not check_entrance(store, host, behind_proxy=True)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_on_this_computer_alone_nobody_signs_in(store: Path, host: str) -> None:
    assert not check_entrance(store, host, behind_proxy=False)


@pytest.mark.parametrize("host", [EVERYWHERE, "127.0.0.1"])
@pytest.mark.parametrize("behind_proxy", [True, False])
def test_where_sign_in_is_set_up_it_is_asked_for_everywhere(store: Path, host: str, *, behind_proxy: bool) -> None:
    set_up(store)
    with pytest.raises(PeopleError, match="leakback people set ADDRESS owner"):
        check_entrance(store, host, behind_proxy=behind_proxy)
    invite(store, "anna@example.org", "owner")
    assert check_entrance(store, host, behind_proxy=behind_proxy)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"client_secret": None}, "auth.client_secret is missing"),
        ({"cookie_secret": "short"}, "auth.cookie_secret is too short"),
        ({"redirect_uri": "http://shop.example.org/oauth2callback"}, "auth.redirect_uri must begin with https://"),
        ({"redirect_uri": "https://shop.example.org/"}, "auth.redirect_uri must be the dashboard's own address"),
        ({"server_metadata_url": "http://id.example.org/x"}, "auth.server_metadata_url must begin with https://"),
        ({"expose_tokens": "id"}, "auth.expose_tokens is not one of its settings"),
        ({"client_id": 7}, "auth.client_id does not fit"),
    ],
)
def test_a_faulty_sign_in_is_refused_without_saying_a_secret(
    store: Path, changed: dict[str, object], said: str
) -> None:
    set_up(store, **changed)
    with pytest.raises(SignInError) as caught:
        check_entrance(store, "127.0.0.1", behind_proxy=False)
    assert said in str(caught.value)
    assert SECRET not in str(caught.value)
    assert "short" not in str(caught.value).replace("too short", "")


def test_on_this_computer_a_provider_may_be_plain(store: Path) -> None:
    invite(store, "anna@example.org", "owner")
    set_up(store, redirect_uri="http://127.0.0.1:8501/oauth2callback", server_metadata_url="http://localhost:9/x")
    assert check_entrance(store, "127.0.0.1", behind_proxy=False)


@pytest.mark.parametrize("text", ["auth = 3", "[auth", "", "\x00"])
def test_a_file_that_is_no_sign_in_is_refused(store: Path, text: str) -> None:
    secrets_path(store).write_text(text)
    secrets_path(store).chmod(0o600)
    with pytest.raises(SignInError, match=r"shop\.secrets\.toml"):
        check_entrance(store, "127.0.0.1", behind_proxy=False)


@pytest.mark.skipif(os.name != "posix", reason="no file modes here")
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o602])
@pytest.mark.parametrize("path_of", [secrets_path, people_path])
def test_files_that_others_can_open_are_refused(store: Path, path_of: Any, mode: int) -> None:
    set_up(store)
    invite(store, "anna@example.org", "owner")
    path_of(store).chmod(mode)
    with pytest.raises((SignInError, PeopleError), match="chmod 600"):
        check_entrance(store, "127.0.0.1", behind_proxy=False)


def test_the_list_of_people_is_its_owners_alone(store: Path) -> None:
    before = os.umask(0)
    try:
        invite(store, "anna@example.org", "owner")
    finally:
        os.umask(before)
    assert people_path(store).stat().st_mode & 0o777 == 0o600


def test_a_role_is_given_changed_and_taken_back(store: Path) -> None:
    invite(store, "Anna@Example.org", "owner")
    invite(store, "bo@example.org", "viewer")
    invite(store, "bo@example.org", "lead")
    assert [(each.name, each.role) for each in invited(store)] == [
        ("anna@example.org", "owner"),
        ("bo@example.org", "lead"),
    ]
    turn_away(store, "BO@example.org")
    assert [each.name for each in invited(store)] == ["anna@example.org"]
    with pytest.raises(UnknownNameError, match="person"):
        turn_away(store, "bo@example.org")


@pytest.mark.parametrize("name", ["", 'a" = "owner', "two words", "a\nb@example.org"])
def test_what_nobody_signs_in_with_is_refused(store: Path, name: str) -> None:
    with pytest.raises(LeakbackError, match="cannot be what somebody signs in with"):
        invite(store, name, "owner")


def test_a_person_is_who_the_provider_vouches_for(store: Path) -> None:
    invite(store, "anna@example.org", "owner")
    invite(store, "subject-7", "viewer")
    anna = {"email": "Anna@example.org", "sub": "subject-1"}
    assert person(store, {**anna, "email_verified": True}) == Person("owner", "anna@example.org")
    assert person(store, {**anna, "email_verified": False}) == Person(None, "subject-1")
    assert person(store, anna) == Person(None, "subject-1")
    assert person(store, {**anna, "sub": "subject-7"}) == Person("viewer", "subject-7")
    assert person(store, {"email": "eve@example.org", "email_verified": True}) == Person(None, "eve@example.org")
    assert person(store, {}) == Person(None, None)


def test_a_sign_in_lasts_a_working_day() -> None:
    assert not is_stale({"iat": 1_000_000}, now=1_000_000 + 12 * 3600)
    assert is_stale({"iat": 1_000_000}, now=1_000_000 + 12 * 3600 + 1)
    assert is_stale({}, now=0)


@pytest.mark.parametrize(
    ("host", "is_here"),
    [
        ("127.0.0.1:8501", True),
        ("localhost:8501", True),
        ("[::1]:8501", True),
        (None, True),
        ("evil.example.org:8501", False),
        ("127.0.0.1.evil.example.org", False),
        ("", False),
    ],
)
def test_another_sites_name_that_leads_here_is_not_this_computer(host: str | None, *, is_here: bool) -> None:
    assert is_asked_for_here(host) == is_here

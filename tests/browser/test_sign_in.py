"""One dashboard that people sign in to, with a provider of our own: each role sees and does its own, and no more."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from analytics.answers.demonstrating import INVENTED, build_demo
from analytics.answers.inviting import invite, invited, turn_away
from analytics.answers.records import Records
from analytics.answers.standing import a_role
from analytics.contract.roles import RIGHTS, ROLES, Role
from analytics.pages.questions import PAGES
from analytics.render.screen import UNEXPECTED
from analytics.store import Store
from analytics.store.committing import note
from tests.browser.conftest import PATIENCE_MS, opened, unfold
from tests.browser.provider import HOUR, Provider, provided
from tests.browser.signed_in import COOKIE_SECRET, PEOPLE, VOUCHED_FOR, sign_in, signed_in_to

pytestmark = pytest.mark.browser
PLANNED = {"close": "This job is done: close it", "plan": "Change this job", "review": "record an engineer's decision"}
"""What is offered about a planned job, by the right it takes."""
LINKS = "[data-testid=stPageLink-NavLink], a.lb-here"
"""The row of links to the pages."""
ACCOUNTS: dict[str, dict[str, Any]] = {
    **VOUCHED_FOR,
    "stranger": {"email": "stranger@example.org", "email_verified": True},
    "impostor": {"email": PEOPLE["owner"], "email_verified": False},
    "yesterday": {"email": PEOPLE["owner"], "email_verified": True, "seconds_ago": 13 * HOUR},
}


@pytest.fixture(scope="module")
def provider() -> Iterator[Provider]:
    with provided(ACCOUNTS) as running:
        yield running


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's records as if they were a business's own: into those of the invented one nobody loads files."""
    path = build_demo(tmp_path_factory.mktemp("sign-in") / "demo.duckdb").store
    note(Store.existing(path), INVENTED, "")
    return path


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("log") / "server.txt"


@pytest.fixture(scope="module")
def address(store: Path, provider: Provider, log: Path) -> Iterator[str]:
    with signed_in_to(store, provider, log) as url:
        yield url


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    opened = browser.new_context(viewport={"width": 1280, "height": 900})
    opened.set_default_timeout(PATIENCE_MS)
    yield opened
    opened.close()


def titles(page: Page) -> str:
    """What a page offers to do: the words of what is folded away on it."""
    return "\n".join(page.locator("summary").all_inner_texts())


def job_of(store: Path, status: str) -> str:
    query = f"select job_id from jobs where status = '{status}' order by job_id limit 1"
    return str(Store(store).frame(query)["job_id"].item())


def test_nobody_comes_in_without_signing_in(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    for path in ("", "crews", "record", "oauth2callback?code=forged&state=forged"):
        text = opened(page, f"{address}/{path}")
        assert "Sign in to see this business's records." in text
        assert "crack" not in text
    forged = f'{{"email": "{PEOPLE["owner"]}", "is_logged_in": true}}'
    context.add_cookies([{"name": "_streamlit_user", "value": forged, "url": address}])
    assert "Sign in to see" in opened(page, address)


@pytest.mark.parametrize(
    ("account", "said"),
    [
        ("stranger", 'leakback people set "stranger@example.org" ROLE'),
        ("impostor", 'leakback people set "subject-impostor" ROLE'),
    ],
)
def test_somebody_without_a_role_is_told_what_to_do_and_can_leave(
    context: BrowserContext, address: str, account: str, said: str
) -> None:
    page = context.new_page()
    sign_in(page, address, account)
    expect(page.locator("body")).to_contain_text(said, timeout=PATIENCE_MS)
    text = page.locator("body").inner_text()
    assert "you have no role here yet" in text
    assert ("does not vouch" in text) == (account == "impostor")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in to see")).to_be_visible(timeout=PATIENCE_MS)


def test_who_signed_in_yesterday_signs_in_anew(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    sign_in(page, address, "yesterday")
    assert "more than 12 hours ago" in page.locator("h1").inner_text()
    page.get_by_role("button", name="Sign in again").click()
    page.get_by_role("link", name="owner", exact=True).click()
    expect(page.locator("body")).to_contain_text("Signed in as owner@example.org, owner.", timeout=PATIENCE_MS)


@pytest.mark.parametrize("role", ROLES)
def test_a_role_is_offered_what_it_may_do_and_nothing_else(
    context: BrowserContext, address: str, store: Path, role: Role
) -> None:
    page, rights = context.new_page(), RIGHTS[role]
    sign_in(page, address, role)
    expect(page.locator("body")).to_contain_text(f"Signed in as {PEOPLE[role]}, {role}.", timeout=PATIENCE_MS)
    open_to = [title for path, (title, _) in PAGES.items() if rights.opens(path)]
    expect(page.locator(LINKS)).to_have_text(open_to, timeout=PATIENCE_MS)
    for path in rights.closed:
        assert f"not open to {a_role(role)}" in opened(page, f"{address}/{path}")
    for place, offers in (
        (f"upcoming?job_id={job_of(store, 'planned')}", PLANNED),
        (f"record?job_id={job_of(store, 'done')}", {"call": "A customer called"}),
        ("record", {"plan": "Plan a new job"}),
    ):
        wanted = set(offers) & rights.acts if rights.opens(place.partition("?")[0]) else set()
        opened(page, f"{address}/{place}")
        for act in wanted:
            expect(page.locator("summary", has_text=offers[act]).first).to_be_attached(timeout=PATIENCE_MS)
        found = titles(page)
        assert {act for act, words in offers.items() if words in found} == wanted
    opened(page, f"{address}/load")
    expect(page.locator("input[type=file]")).to_have_count(int("load" in rights.acts), timeout=PATIENCE_MS)


def test_a_write_is_kept_under_a_role_and_a_code(context: BrowserContext, address: str, store: Path) -> None:
    page, job = context.new_page(), job_of(store, "planned")
    sign_in(page, address, "lead")
    change(page, f"{address}/record?job_id={job}", "17")
    expect(page.locator(".lb-done")).to_contain_text("is changed", timeout=PATIENCE_MS)
    lead = next(each for each in invited(store) if each.role == "lead")
    last = Store(store).frame("select what, by_whom from audit order by number desc limit 1").row(0)
    assert last == ("load", f"lead {lead.code}")
    assert re.fullmatch(r"person-[0-9a-f]{12}", lead.code)


def test_a_role_taken_back_stops_the_form_that_is_open(context: BrowserContext, address: str, store: Path) -> None:
    page, job = context.new_page(), job_of(store, "planned")
    sign_in(page, address, "estimator")
    before = Store(store).state()
    try:
        change(page, f"{address}/record?job_id={job}", "23", before_sending=lambda: take_back(store))
        expect(page.get_by_role("heading", name="you have no role here yet")).to_be_visible(timeout=PATIENCE_MS)
        expect(page.locator("h1")).to_have_count(1, timeout=PATIENCE_MS)  # nothing of the page that was open is left
    finally:
        invite(store, PEOPLE["estimator"], "estimator")
    assert Store(store).state() == before


def change(page: Page, url: str, minutes: str, before_sending: Callable[[], object] = lambda: None) -> None:
    opened(page, url)
    unfold(page.locator("summary", has_text="Change this job"))
    form = page.locator("[data-testid='stForm']").filter(has_text="Change this job").first
    form.get_by_role("textbox", name="Travel, minutes", exact=True).fill(minutes)
    before_sending()
    form.get_by_role("button", name="Change this job").click()


def take_back(store: Path) -> None:
    turn_away(store, PEOPLE["estimator"])


def test_the_viewer_reads_no_crew_anywhere(context: BrowserContext, address: str, store: Path) -> None:
    page = context.new_page()
    sign_in(page, address, "viewer")
    names = Records.of(store).ask("known_names")
    crews = names.filter(names["column_name"] == "crew_id")["name"].to_list()
    job = job_of(store, "planned")
    deep = (f"upcoming?job_id={job}", f"upcoming?crew={crews[0]}", "leak-backs?by=crew", f"quote?crew_id={crews[0]}")
    for path in (*PAGES, *deep):
        opened(page, f"{address}/{path}")
        text = page.locator("body").text_content() or ""
        assert UNEXPECTED not in text
        assert not [crew for crew in crews if re.search(rf"(?<![\w-]){crew}(?![\w-])", text)], path
    opened(page, f"{address}/upcoming")
    with page.expect_download() as taken:
        page.get_by_role("button", name="as CSV").first.click()
    assert "crew" not in Path(taken.value.path()).read_text(encoding="utf-8-sig")


def test_no_secret_is_in_the_log(address: str, log: Path, provider: Provider) -> None:
    del address
    said = log.read_text(errors="replace")
    assert provider.given_out
    assert not [secret for secret in (COOKIE_SECRET, provider.client_secret, *provider.given_out) if secret in said]
    assert "@example.org" not in said

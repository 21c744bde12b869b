"""Every act that changes the store, tried in a real browser by every role: done by whom it is for, refused to the rest.

What is offered is found in the pages themselves, so a form that nobody wrote a line for here fails. A refused act is
forced: its form is opened while the person may still do it, and sent once they may not.
"""

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from analytics.answers import recording, scenarios
from analytics.answers.demonstrating import INVENTED
from analytics.answers.loading import begin, load
from analytics.answers.records import Records, policy_path
from analytics.answers.standing import Person, refusal
from analytics.cli import run
from analytics.contract.roles import ACTS, RIGHTS, ROLES, Act, Role, may
from analytics.demo import TRUTH, world
from analytics.pages.questions import PAGES
from analytics.store import Store
from analytics.store.committing import note
from tests.browser.conftest import PATIENCE_MS, opened, settled, unfold
from tests.browser.provider import provided
from tests.browser.signed_in import PEOPLE, VOUCHED_FOR, sign_in, signed_in_to
from tests.browser.typed import LOAD, LOAD_BACK, TYPED, Place
from tests.histories import DONE_JOB, write_tables
from tests.offered import job_of, offered
from tests.truth.stores import records_of

pytestmark = pytest.mark.browser
BY_COMMAND: set[Act] = {"fit"}
"""No page offers it: it is done on the computer that keeps the records."""
HOME = next(iter(PAGES))
"""Opens at the bare address."""
State = Callable[["Desk"], AbstractContextManager[None]]
Buttons = list[tuple[State, list["Offered"]]]


@dataclass(frozen=True)
class Offered:
    """A button that changes the store, the page it stands on (a job's by its status), and the right it takes."""

    path: str
    status: str
    verb: str
    needs: Act | None

    @property
    def place(self) -> Place:
        """Its words, and whether it is about one job."""
        return self.verb, bool(self.status)

    def address(self, store: Path) -> str:
        """Where it stands now."""
        return f"{self.path}?job_id={job_of(Store(store), self.status)}" if self.status else self.path


@dataclass(frozen=True)
class Desk:
    """The store that is written to, its dashboard's address, and a file to bring."""

    store: Path
    url: str
    brought: Path

    def held(self) -> tuple[bytes, str]:
        """The store to the last byte, and the end of its trail."""
        return self.store.read_bytes(), Store(self.store).state()

    def gives(self, role: Role, given: Role) -> None:
        """The person of ``role`` is made what ``given`` says, as the owner does it."""
        assert run(["people", "set", PEOPLE[role], given, "--store", str(self.store)]) == 0


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    folder = tmp_path_factory.mktemp("writes")
    tables = world(TRUTH, seed=7, n_jobs=20).tables
    store = records_of(tables, folder, tables).store.path
    scenarios.save(Records.of(store), "two years", warranty_months=24)
    brought = write_tables(folder / "brought", {"jobs": [DONE_JOB]}) / "jobs.csv"
    with provided(VOUCHED_FOR) as provider, signed_in_to(store, provider, folder / "log.txt") as url:
        yield Desk(store, url, brought)


@contextmanager
def browser_of(browser: Browser, desk: Desk, role: Role) -> Iterator[Page]:
    """A browser in which the person of ``role`` has signed in."""
    context = browser.new_context(viewport={"width": 600, "height": 500}, reduced_motion="reduce")
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    sign_in(page, desk.url, role)
    yield page
    context.close()


@contextmanager
def usual(_: Desk) -> Iterator[None]:
    """A business's own records."""
    yield


@contextmanager
def aside(desk: Desk, make: Callable[[Path], object]) -> Iterator[None]:
    """Something else in the store's place meanwhile."""
    kept = desk.store.with_suffix(".kept")
    shutil.copy(desk.store, kept)
    try:
        make(desk.store)
        yield
    finally:
        kept.replace(desk.store)
        policy_path(desk.store).unlink(missing_ok=True)


def emptied(store: Path) -> None:
    store.unlink()
    assert begin(store)


def invented(store: Path) -> None:
    note(Store.existing(store), INVENTED, "yes")


def entered(store: Path) -> None:
    job = job_of(Store(store), "planned")
    assert job is not None
    recording.change_job(store, job, {"travel_minutes": "18"})


def brought(store: Path, job: dict[str, str]) -> None:
    load(store, [write_tables(store.with_name("brought"), {"jobs": [{**DONE_JOB, **job}]})])


STATES: tuple[State, ...] = (
    usual,
    partial(aside, make=entered),
    partial(aside, make=partial(brought, job={"job_id": "J-9001"})),
    partial(aside, make=partial(brought, job={"done_on": "2024-13-12"})),
    partial(aside, make=invented),
    partial(aside, make=emptied),
)


@pytest.fixture(scope="module")
def buttons(desk: Desk) -> Buttons:
    """Every button by the state of the store that brings it out, each once."""
    found: dict[Place, Offered] = {}
    by_state = []
    for state in STATES:
        here: dict[Place, Offered] = {}
        with state(desk):
            for path, status, part in offered(Records.of(desk.store)):
                each = Offered("" if path == HOME else path, status, part.verb, part.needs)
                if each.place not in found and not (each.verb == LOAD_BACK and state is usual):
                    here.setdefault(each.place, each)
        found |= here
        by_state.append((state, list(here.values())))
    return by_state


def button(page: Page, verb: str) -> Locator:
    return page.locator("button").filter(has_text=re.compile(f"^{re.escape(verb)}$"))


def shows(desk: Desk, page: Page, each: Offered) -> None:
    """The page with the button on it, drawn anew where it is not there yet."""
    address = f"{desk.url}/{each.address(desk.store)}"
    there = page.locator("input[type=file]") if each.verb == LOAD else button(page, each.verb).first
    if page.url != address:
        opened(page, address)
    elif not there.count():
        page.locator("h1").click()
        page.keyboard.press("r")  # Streamlit's own key for it: far cheaper than opening the page
    expect(there).to_be_attached()
    settled(page)
    if each.verb == LOAD:
        there.set_input_files(desk.brought)
        expect(button(page, LOAD)).to_be_visible()
        settled(page)


def send(page: Page, each: Offered, just_before: Callable[[], object] = lambda: None) -> None:
    """Fill in what the button takes, and press it."""
    form = page.locator("[data-testid=stForm]").filter(has=button(page, each.verb)).first
    folded = page.locator("details").filter(has=button(page, each.verb)).first
    if folded.count() and folded.get_attribute("open") is None:
        unfold(folded.locator("summary"))
    TYPED[each.place](page, form)
    page.keyboard.press("Tab")  # leaves the field first: its hint goes then, and what lies beneath moves up
    just_before()
    button(page, each.verb).first.click()


def refuses(desk: Desk, page: Page, each: Offered, role: Role) -> None:
    """What is sent once the role is another one is refused in a sentence, and nothing is changed."""
    desk.gives(role, may(each.needs)[-1])
    shows(desk, page, each)
    before = desk.held()
    send(page, each, lambda: desk.gives(role, role))
    expect(page.locator(".lb-refusal")).to_have_text(refusal(Person(role), each.needs))
    settled(page)
    expect(button(page, each.verb)).to_have_count(0)
    assert desk.held() == before


def does(desk: Desk, page: Page, each: Offered, role: Role) -> None:
    """What is sent is done, and kept in the trail under the role."""
    newest, said = "select number, by_whom from audit order by number desc limit 1", page.locator(".lb-done")
    before = Store(desk.store).frame(newest).rows()
    last_act = said.inner_text() if said.count() else None
    send(page, each)
    expect(said.filter(has_not_text=last_act) if last_act else said).to_be_visible()
    settled(page)
    after = Store(desk.store).frame(newest).rows()
    assert after != before
    assert after[0][1].split()[0] == role


def test_every_act_is_on_a_page_or_done_by_command_alone(buttons: Buttons) -> None:
    needed = {each.needs for _, here in buttons for each in here if each.needs}
    assert needed | BY_COMMAND == set(ACTS)
    assert not needed & BY_COMMAND


def test_what_is_typed_for_every_button_is_said_here(buttons: Buttons) -> None:
    assert {each.place for _, here in buttons for each in here} == set(TYPED)


@pytest.mark.parametrize("role", ROLES)
def test_every_button_is_for_its_roles_alone(desk: Desk, buttons: Buttons, browser: Browser, role: Role) -> None:
    with browser_of(browser, desk, role) as page:
        for state, here in buttons:
            with state(desk):
                for each in here:
                    if not RIGHTS[role].allows(each.needs):
                        refuses(desk, page, each, role)
                        continue
                    shows(desk, page, each)
                    if role == may(each.needs)[-1]:
                        does(desk, page, each, role)

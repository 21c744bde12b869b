"""What is recorded by hand in a real browser, on a store of its own: the flag clears, nothing typed is lost."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.answers.demonstrating import build_demo
from analytics.answers.flagging import flags
from analytics.answers.records import Records
from analytics.decisions.triage import Flag
from tests.browser.conftest import PATIENCE_MS, choose, opened, served, settled, unfold

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo of this module's own: its tests write."""
    return build_demo(tmp_path_factory.mktemp("recording") / "demo.duckdb").store


@pytest.fixture(scope="module")
def address(store: Path) -> Iterator[str]:
    with served(store) as url:
        yield url


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844})
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


def flagged(store: Path) -> dict[str, Flag]:
    return {flag.crack_id: flag for flag in flags(Records.of(store)).flags}


def newest_load(store: Path) -> tuple[int, str]:
    row = Records.of(store).ask("load_ledger").row(0, named=True)
    return row["batch"], row["file"]


def sees(page: Page, where: str, text: str) -> None:
    expect(page.locator(where)).to_contain_text(text, timeout=PATIENCE_MS)


def test_a_flag_clears_once_the_engineers_decision_is_recorded(page: Page, address: str, store: Path) -> None:
    every = flagged(store).values()
    jobs = Counter(flag.job_id for flag in every)
    first = next(flag for flag in every if flag.action == "engineer_review" and jobs[flag.job_id] == 1)
    job, crack = first.job_id, first.crack_id
    opened(page, f"{address}/upcoming?job_id={job}")
    sees(page, "h1", "an engineer looks first")
    unfold(page.locator("summary", has_text=f"Crack {crack}: record an engineer's decision"))
    decision = page.locator("form, [data-testid='stForm']").filter(has_text="Record the engineer's decision").first
    choose(page, decision.get_by_role("combobox", name="Decision"), "inject")
    decision.get_by_role("textbox", name="Number of the engineer's letter").fill("E-2026-77")
    decision.get_by_role("button", name="Record the engineer's decision").click()
    sees(page, ".lb-done", f"the engineer's decision on crack {crack}")
    expect(page.locator("h1")).not_to_contain_text("an engineer looks first", timeout=PATIENCE_MS)
    sees(page, "body", "engineer decided to inject")
    assert flagged(store)[crack].action != "engineer_review"
    assert newest_load(store)[1].startswith("by hand: engineer's decision R-")


def test_what_is_refused_keeps_what_was_typed(page: Page, address: str, store: Path) -> None:
    before = newest_load(store)
    job = next(iter(flagged(store).values())).job_id
    opened(page, f"{address}/record?job_id={job}")
    unfold(page.locator("summary", has_text="Change this job"))
    form = page.locator("[data-testid='stForm']").filter(has_text="Change this job").first
    form.get_by_role("textbox", name="Travel, minutes", exact=True).fill("half an hour")
    form.get_by_role("button", name="Change this job").click()
    sees(page, ".lb-refusal", "travel: what is typed is not a number")
    expect(form.get_by_role("textbox", name="Travel, minutes", exact=True)).to_have_value(
        "half an hour", timeout=PATIENCE_MS
    )
    assert newest_load(store) == before


def test_a_leak_back_is_placed_by_hand_from_the_list(page: Page, address: str) -> None:
    opened(page, f"{address}/record")
    sees(page, "h1", "leak-backs for their crack")
    waiting = int(page.locator("h1").inner_text().split(" leak-backs")[0].split()[-1])
    page.get_by_label("Leak-backs placed by rule").get_by_role("link").last.click()
    sees(page, "h1", "done on")
    settled(page)
    unfold(page.locator("summary", has_text="which crack is not known").first)
    form = page.locator("[data-testid='stForm']").filter(has_text="Record what was found").filter(visible=True).first
    choose(page, form.get_by_role("combobox", name="Crack"))
    form.get_by_role("button", name="Record what was found").click()
    sees(page, ".lb-done", "is changed")
    opened(page, f"{address}/record")
    sees(page, "h1", f"{waiting - 1} leak-backs for their crack")


def test_a_new_job_is_planned_on_a_phone(page: Page, address: str, store: Path) -> None:
    opened(page, f"{address}/record")
    unfold(page.locator("summary", has_text="Plan a new job"))
    form = page.locator("[data-testid='stForm']").first
    numbered = form.get_by_role("textbox", name="Job number", exact=True)
    expect(numbered).to_have_value(re.compile(r"^J-\d+$"), timeout=PATIENCE_MS)
    number = numbered.input_value()
    form.get_by_role("textbox", name="Site", exact=True).fill("17 Invented Lane")
    form.get_by_role("textbox", name="Length, m", exact=True).fill("2,4")
    form.get_by_role("spinbutton", name="year, Planned for").click()
    page.keyboard.type("20261215")
    page.keyboard.press("Tab")
    choose(page, page.get_by_role("combobox", name="Cracks of a new job"), "3")
    expect(form.get_by_role("textbox", name="Length, m", exact=True)).to_have_count(3)
    settled(page)
    expect(form.get_by_role("textbox", name="Site", exact=True)).to_have_value("17 Invented Lane")
    form.get_by_role("button", name="Plan this job").click()
    sees(page, ".lb-done", f"job {number} is planned")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert [flag.action for flag in flagged(store).values() if flag.job_id == number] == ["measure_first"] * 3
    assert b"Invented Lane" not in store.read_bytes()
    page.get_by_role("link", name="Open it").click()
    sees(page, "h1", f"Job {number}, planned for Tue 15 Dec: 3 cracks.")

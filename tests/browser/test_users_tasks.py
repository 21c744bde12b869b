"""What the three users come for, done by clicking: price a job, find the bad crew, clear a flag."""

import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.answers.flagging import flags
from analytics.answers.records import Records
from tests.browser.conftest import PATIENCE_MS, choose, opened, served, settled, unfold

pytestmark = pytest.mark.browser


@pytest.fixture(params=[1280, 390])
def page(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": request.param, "height": 844}, accept_downloads=True)
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


@pytest.fixture
def copied(demo_store: Path, tmp_path: Path) -> Path:
    """A copy of the demo's store that a test may write to."""
    for file in demo_store.parent.glob("demo.*"):
        if file.is_file():
            shutil.copyfile(file, tmp_path / file.name)
    return tmp_path / demo_store.name


def clicked(page: Page, name: str) -> None:
    page.get_by_role("link", name=name, exact=True).first.click()
    settled(page)


def typed(page: Page, label: str, number: str) -> None:
    box = page.get_by_label(label, exact=True)
    box.fill(number)
    box.press("Tab")
    settled(page)


def test_the_estimator_prices_a_job_and_prints_it(page: Page, dashboard: str) -> None:
    opened(page, dashboard)
    clicked(page, "Check a quote")
    typed(page, "Length, m", "3.1")
    expect(page.locator("h1")).to_contain_text(re.compile(r"3\.10?\s*m of"))
    typed(page, "Width, mm", "500")
    expect(page.locator("h1")).to_have_text(re.compile(r"Width must be from 0\.01 to 100\smm\."))
    assert "width_mm=500" in page.url
    typed(page, "Width, mm", "0.5")
    typed(page, "Price, USD", "520")
    place = page.locator(".lb-strong")
    expect(place).to_contain_text("a margin of")
    expect(place).to_contain_text("comparable cracks, which come to")
    with page.expect_download() as download:
        page.get_by_role("button", name="Print this quote").click()
    text = _read(Path(download.value.path()))
    assert "520" in text
    assert "margin" in text


def _read(pdf: Path) -> str:
    assert pdf.read_bytes().startswith(b"%PDF-")
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine (Debian: apt-get install poppler-utils)")
    return subprocess.run(["pdftotext", str(pdf), "-"], check=True, capture_output=True, text=True).stdout


def test_the_lead_finds_the_bad_crew_from_the_first_page_and_reads_why(page: Page, dashboard: str) -> None:
    opened(page, dashboard)
    expect(page.locator("body")).to_contain_text("C05, has more leak-backs than its cracks explain")
    clicked(page, "C05")
    expect(page.locator("h1")).to_contain_text("Crew C05: 77 leak-backs against 26 expected")
    settled(page)
    talk = page.locator(".lb-reasons").first
    expect(talk).to_contain_text("sets ports further apart than the wall is thick")
    expect(talk).to_contain_text("the other crews")
    clicked(page, "Crews")
    expect(page.locator("h1")).to_contain_text("One crew of ten")


def test_the_lead_records_the_engineers_decision_and_the_flag_clears(page: Page, copied: Path) -> None:
    every = flags(Records.of(copied)).flags
    cracks = Counter(flag.job_id for flag in every)
    first = next(flag for flag in every if flag.action == "engineer_review" and cracks[flag.job_id] == 1)
    with served(copied) as url:
        opened(page, url)
        clicked(page, first.job_id)
        expect(page.locator("h1")).to_contain_text("an engineer looks first")
        unfold(page.locator("summary", has_text="record an engineer's decision"))
        form = page.get_by_test_id("stForm").filter(has_text="Record the engineer's decision").first
        choose(page, form.get_by_role("combobox", name="Decision"), "inject")
        form.get_by_role("textbox", name="Number of the engineer's letter").fill("E-2026-81")
        form.get_by_role("button", name="Record the engineer's decision").click()
        expect(page.locator(".lb-done")).to_contain_text("the engineer's decision")
        expect(page.locator("h1")).not_to_contain_text("an engineer looks first")
    after = {flag.crack_id: flag.action for flag in flags(Records.of(copied)).flags}
    assert after[first.crack_id] != "engineer_review"

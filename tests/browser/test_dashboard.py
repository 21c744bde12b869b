"""Every page in a real browser, wide and on a phone: no error, and its numbers those of the command line."""

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Literal
from urllib.parse import urlparse

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from analytics.pages.questions import PAGES
from analytics.render.cells import source_said
from analytics.render.screen import UNEXPECTED
from tests.browser import conftest
from tests.browser.conftest import PATIENCE_MS, choose, settled

pytestmark = pytest.mark.browser
PATHS = ["", *PAGES]
WIDTHS: dict[str, ViewportSize] = {
    "desktop": {"width": 1280, "height": 900},
    "phone": {"width": 390, "height": 844},
}
SCHEMES: dict[str, Literal["light", "dark"]] = {"desktop": "light", "phone": "dark"}


@pytest.fixture(params=WIDTHS)
def page(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport=WIDTHS[request.param], color_scheme=SCHEMES[request.param])
    yield context.new_page()
    context.close()


@cache
def answer(store: Path, *words: str) -> Any:
    command = [sys.executable, "-m", "analytics.cli", *words, "--store", str(store), "--format", "json"]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def opened(page: Page, url: str) -> str:
    """Open a page, wait for its sentence and the end of its work, list its lists whole, and give all its text."""
    conftest.opened(page, url)
    page.evaluate(conftest.LIST_WHOLE)
    return plain(page.locator("body").inner_text())


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\u202f", ""))


def percent(row: dict[str, Any]) -> tuple[str, str]:
    return f"{100 * row['value']:.1f}%", f"{100 * row['low']:.1f} to {100 * row['high']:.1f}"


@pytest.mark.parametrize("path", PATHS)
def test_every_page_opens_without_error_and_asks_no_other_machine(page: Page, dashboard: str, path: str) -> None:
    asked: list[str] = []
    faults: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: faults.append(str(error)))
    text = opened(page, f"{dashboard}/{path}")
    assert UNEXPECTED not in text
    assert "Traceback" not in text
    assert "An invented business, for show" in text
    assert not faults
    assert urlparse(page.url).path == f"/{path}"
    assert {urlparse(url).hostname for url in asked if url.startswith(("http", "ws"))} == {"127.0.0.1"}
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_today_says_what_flags_and_measure_say(page: Page, dashboard: str, demo_store: Path) -> None:
    text = opened(page, dashboard)
    flags = answer(demo_store, "flags", "--all")["rows"]
    needing = [row for row in flags if row["needs"] not in {"standard", "do_not_inject"}]
    engineer = [row for row in flags if row["needs"] == "engineer_review"]
    assert f"{len(needing)} of {len(flags)} planned cracks" in text
    assert f"{len(engineer)} of them an engineer" in text
    for months in ("12", "24", "60"):
        [row] = answer(demo_store, "measure", "leak_back_rate", "--months", months)["rows"]
        assert " ".join(percent(row)[:1]) in text
        assert percent(row)[1] in text
    for metric in ("material_per_metre", "take_ratio"):
        [row] = answer(demo_store, "measure", metric)["rows"]
        assert f"{row['value']:.2f}" in text


def test_upcoming_lists_every_planned_crack_with_its_risk(page: Page, dashboard: str, demo_store: Path) -> None:
    text = opened(page, f"{dashboard}/upcoming?needs=every")
    for row in answer(demo_store, "flags", "--all")["rows"]:
        assert row["crack_id"] in text
        assert f"{100 * row['risk']:.1f}%" in text
        assert f"{100 * row['low']:.1f} to {100 * row['high']:.1f}" in text
    assert "A screening aid, not an engineering opinion." in text


def test_a_job_opens_to_its_reasons_risks_and_sources(page: Page, dashboard: str, demo_store: Path) -> None:
    flags = answer(demo_store, "flags")["rows"]
    job = flags[0]["job_id"]
    opened(page, f"{dashboard}/upcoming")
    page.get_by_role("link", name=job).first.click()
    expect(page.locator("h1")).to_contain_text(f"Job {job}", timeout=PATIENCE_MS)
    settled(page)
    text = plain(page.locator("body").inner_text())
    for row in (row for row in flags if row["job_id"] == job):
        assert row["crack_id"] in text
        for reason in row["reasons"]:
            assert plain(reason["text"]) in text
            assert plain(source_said(reason["source"])) in text
    assert "safety sheet" in text
    assert f"job_id={job}" in page.url


def test_leak_backs_by_material_and_season_equal_the_command_lines(
    page: Page, dashboard: str, demo_store: Path
) -> None:
    text = opened(page, f"{dashboard}/leak-backs?by=resin%2Cseason&months=24")
    rows = answer(demo_store, "measure", "leak_back_rate", "--by", "resin,season", "--months", "24")["rows"]
    for row in rows:
        assert percent(row)[0] in text
        assert percent(row)[1] in text


def test_crews_numbers_equal_the_command_lines(page: Page, dashboard: str, demo_store: Path) -> None:
    text = opened(page, f"{dashboard}/crews")
    for row in answer(demo_store, "measure", "leak_back_rate", "--by", "crew")["rows"]:
        assert row["crew"] in text
        if row["value"] is not None:
            assert percent(row)[1] in text


def test_records_say_what_is_loaded(page: Page, dashboard: str) -> None:
    text = opened(page, f"{dashboard}/records")
    assert "no row waits to be mended" in text
    for name in ("jobs", "cracks", "callbacks", "rates", "reviews"):
        assert name in text


def test_a_click_in_a_chart_narrows_the_page_and_stays_in_the_address(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/leak-backs?by=season")
    expect(page.get_by_label("Compare by").first).to_have_value("season of the repair")
    page.get_by_test_id("stVegaLiteChart").first.locator('path[d^="M15,0A15"]').first.click(timeout=PATIENCE_MS)
    page.wait_for_function("location.search.includes('season=winter')", timeout=PATIENCE_MS)
    expect(page.locator("h1")).to_contain_text("(winter)", timeout=PATIENCE_MS)
    again = opened(page, page.url)
    assert "(winter)" in again
    assert "epoxy" in again


def test_nothing_hovers_over_the_choices_above_a_chart(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/leak-backs")
    page.get_by_test_id("stVegaLiteChart").first.hover(timeout=PATIENCE_MS)
    floating = page.get_by_test_id("stElementToolbar").all()
    assert floating
    assert [bar for bar in floating if bar.is_visible()] == []


def test_a_link_in_a_table_narrows_the_page_too(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/upcoming")
    week = page.get_by_role("table", name="Weeks ahead").get_by_role("link").first
    said = week.inner_text()
    week.click()
    page.wait_for_function("location.search.includes('week=')", timeout=PATIENCE_MS)
    expect(page.locator("h2").first).to_contain_text(f"Week of {said}", timeout=PATIENCE_MS)
    expect(page.locator("h2").nth(1)).to_contain_text("Weeks ahead", timeout=PATIENCE_MS)


def test_a_choice_is_kept_in_the_address(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/leak-backs")
    choose(page, page.get_by_label("Compare by").first, "season of the repair")
    page.wait_for_function("location.search.includes('by=')", timeout=PATIENCE_MS)
    again = opened(page, page.url)
    assert "winter" in again


def test_a_page_come_back_to_answers_what_stands_in_its_boxes(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/quote?length_m=3&water=seeping")
    expect(page.locator("h1")).to_contain_text("3\u202fm of")
    said = page.locator("h1").inner_text()
    for name, path in (("Crews", "crews"), ("Check a quote", "quote")):
        page.get_by_role("link", name=name, exact=True).click()
        page.wait_for_url(f"{dashboard}/{path}*")
        conftest.arrived(page)
    expect(page.get_by_label("Length, m", exact=True)).to_have_value("3")
    expect(page.locator("h1")).to_have_text(said)
    assert "length_m=3" in page.url
    assert "water=seeping" in page.url


@pytest.mark.parametrize(("path", "boxes"), [("quote?cracks_on_job=2", 16 + 7), ("upcoming", 5)])
def test_boxes_that_take_more_than_a_line_are_of_one_width(page: Page, dashboard: str, path: str, boxes: int) -> None:
    opened(page, f"{dashboard}/{path}")
    shown = page.locator("[class*=st-key-choices] > div").filter(visible=True)
    widths = shown.evaluate_all("boxes => boxes.map((box) => Math.round(box.getBoundingClientRect().width))")
    assert len(widths) == boxes
    assert max(widths) - min(widths) <= 1

"""No page breaks WCAG 2.2 at A or AA, wide and on a phone, light and dark; and the keyboard reaches everything."""

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.answers.flagging import flags
from analytics.answers.records import Records
from analytics.charts.palette import COLOURS
from analytics.pages.questions import PAGES
from tests.browser.conftest import LIES_STILL, PATIENCE_MS, opened, settled
from tests.browser.wcag import violations

pytestmark = pytest.mark.browser
JOB, CREW = "JOB", "CREW"
"""Stand for a flagged job and a crew of the demo's."""
PATHS = [
    *("" if place == 0 else path for place, path in enumerate(PAGES)),
    f"upcoming?job_id={JOB}",
    "upcoming?order=week",
    f"crews?crew_id={CREW}",
    "leak-backs?by=resin%2Cseason&crew=C05",
    f"record?job_id={JOB}",
    "quote?price=400",
    "quote?cracks_on_job=2&length_m.2=1.2&width_mm.2=0.3",
]
WIDTHS = (1280, 390)
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
UNFOLD = "document.querySelectorAll('details:not([open]) > summary').forEach((each) => each.click())"
CHANGED = "document.getAnimations().every((each) => !(each instanceof CSSTransition))"
"""Whether no colour is still on its way to another."""
GROUND = "getComputedStyle(document.querySelector('.stApp')).backgroundColor"


@pytest.fixture(scope="module")
def flagged(demo_store: Path) -> str:
    return next(flag.job_id for flag in flags(Records.of(demo_store)).flags if flag.action == "engineer_review")


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": WIDTHS[0], "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("path", PATHS)
def test_no_page_breaks_wcag(page: Page, dashboard: str, flagged: str, path: str) -> None:
    opened(page, f"{dashboard}/{path.replace(JOB, flagged).replace(CREW, 'C05')}")
    page.evaluate(UNFOLD)
    settled(page)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(f"{GROUND} === '{_rgb(COLOURS['page'].on(scheme))}'")
            page.wait_for_function(CHANGED)
            assert violations(page) == [], f"{width} px, {scheme}"
            assert page.evaluate("document.querySelector('.stMain').scrollWidth <= window.innerWidth")


def _rgb(colour: str) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


def test_the_keyboard_reaches_the_pages_then_the_choices_then_the_list(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/upcoming")
    expect(page.get_by_test_id("stPageLink-NavLink")).to_have_count(len(PAGES) - 1)
    reached = _tabbed(page, len(PAGES) + 12)
    names = [name for name, _ in reached]
    order = [names.index(title) for title, _ in PAGES.values()]
    assert order == sorted(order)
    choices = [names.index(label) for label in ("Show", "Order", "Week", "Branch", "Crew")]
    assert choices == sorted(choices)
    links = [place for place, name in enumerate(names) if name.startswith("J-")]
    assert order[-1] < choices[0] < choices[-1] < links[0]
    assert all(seen for _, seen in reached), [name for name, seen in reached if not seen]


def test_the_keyboard_fills_a_form_in_and_sends_it(page: Page, dashboard: str, flagged: str) -> None:
    opened(page, f"{dashboard}/record?job_id={flagged}")
    folded = page.locator("summary", has_text="record an engineer's decision").first
    folded.focus()
    page.keyboard.press("Enter")
    page.get_by_role("textbox", name="Number of the engineer's letter").first.wait_for()
    settled(page)
    folded.locator("xpath=..").evaluate(LIES_STILL)
    folded.focus()
    reached = _tabbed(page, 20)
    names = [name for name, _ in reached]
    assert names.index("Decision") < names.index("Number of the engineer's letter")
    assert names.index("Number of the engineer's letter") < names.index("Record the engineer's decision")
    assert all(seen for _, seen in reached), [name for name, seen in reached if not seen]


NAMED = """() => {
  const on = document.activeElement;
  const label = on.getAttribute("aria-label") || on.labels?.[0]?.innerText || on.innerText.slice(0, 60) || "";
  const style = getComputedStyle(on);
  const seen = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  return [label.trim(), seen || on.matches(".stMain, body")]; // the body: past the last, at the browser's own bar
}"""


def _tabbed(page: Page, times: int) -> list[tuple[str, bool]]:
    """What ``times`` presses of Tab reach: its name, and whether it can be seen that it is reached."""
    reached = []
    for _ in range(times):
        page.keyboard.press("Tab")
        page.wait_for_function(CHANGED)
        name, seen = page.evaluate(NAMED)
        reached.append((name, seen))
    return reached

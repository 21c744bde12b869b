"""What a page looks like on a phone: a label and what it says on one line, and no list longer than it need be."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import PATIENCE_MS, opened, settled

pytestmark = pytest.mark.browser
WIDE, PHONE = 1280, 390
NEAR_PX = 8
"""Two texts on one line of different sizes begin no further apart than this."""
TOPS = """(list) => [...list.querySelectorAll(':scope > div')].map((row) =>
    ['dt', 'b', '.lb-quiet'].map((part) => row.querySelector(part)?.getBoundingClientRect())
        .map((box) => box && [box.top, box.right]))"""
"""Where the label, the value and the note of each figure begin, from the top, and end, from the left."""
FIRST_TOPS = """(cells) => cells.map((cell) =>
    cell.querySelector('span').getClientRects()[0].top - cell.getBoundingClientRect().top)"""
"""How far beneath its cell's edge each text begins."""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": PHONE, "height": 844})
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


def test_a_figure_stands_on_the_line_of_its_label_and_its_note_beneath(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/quote")
    figures = page.locator(".lb-figures").evaluate(TOPS)
    assert len(figures) > 10
    ends = {round(value[1]) for _, value, _ in figures}
    assert len(ends) == 1, "the values end where the others do"
    for label, value, note in figures:
        assert abs(label[0] - value[0]) < NEAR_PX
        assert note is None or note[0] > value[0] + NEAR_PX


def test_a_long_text_begins_on_the_line_of_its_label(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/take-ratio")
    begins = page.locator("td.lb-wide:visible").evaluate_all(FIRST_TOPS)
    assert len(begins) > 10
    assert max(begins) < NEAR_PX


def rows_of(page: Page, name: str) -> Locator:
    return page.get_by_role("table", name=name, exact=True).locator("tbody tr")


def test_a_long_list_shows_its_first_rows_and_the_rest_when_asked_to(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/take-ratio")
    rows = rows_of(page, "Resin beyond")
    every = rows.count()
    shown = rows.filter(visible=True)
    expect(shown).to_have_count(6)
    page.get_by_text(f"Show {every - 6} more", exact=True).click()
    expect(shown).to_have_count(every)
    page.get_by_text("Show fewer", exact=True).click()
    expect(shown).to_have_count(6)


def test_a_long_list_is_whole_where_there_is_room(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/take-ratio")
    page.set_viewport_size({"width": WIDE, "height": 900})
    rows = rows_of(page, "Resin beyond")
    expect(rows.filter(visible=True)).to_have_count(rows.count())
    expect(page.locator(".lb-more")).to_be_hidden()


def test_what_an_engineer_looks_at_is_never_folded_away(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/upcoming?needs=every")
    rows = page.locator("tr:has(.lb-mark.lb-engineer_review)")
    assert rows.count() > 6
    expect(rows.filter(visible=True)).to_have_count(rows.count())
    said = page.locator(".lb-shut:visible")
    expect(said).to_have_text("Show 85 more: 5 measure first, 26 extra prep, 54 standard")


def test_a_phone_folds_a_risk_s_reasons_away_and_never_those_of_a_flag(page: Page, dashboard: str) -> None:
    opened(page, f"{dashboard}/upcoming")
    page.locator("tr:has(.lb-mark.lb-engineer_review)").first.get_by_role("link").click()
    expect(page.locator("h1")).to_contain_text("an engineer looks first")
    settled(page)
    flag, risk = (page.get_by_text(words, exact=True).first for words in ("Why, and what to do", "What lowers it"))
    fold = page.locator("summary", has_text="what raises and lowers its risk").first
    expect(flag).to_be_visible()
    expect(risk).to_be_hidden()
    fold.click()
    expect(risk).to_be_visible()
    fold.click()
    expect(risk).to_be_hidden()
    page.set_viewport_size({"width": WIDE, "height": 900})
    expect(risk).to_be_visible()
    expect(fold).to_be_hidden()
    expect(flag).to_be_visible()

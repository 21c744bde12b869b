"""What a page looks like on a phone: a label and what it says on one line."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PATIENCE_MS, opened

pytestmark = pytest.mark.browser
PHONE = 390
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

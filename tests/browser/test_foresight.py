"""What is worked out beforehand is what the address says once a box has been changed."""

from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest
from playwright.sync_api import Browser, Page

from analytics.answers.records import Records
from analytics.pages.page import Choice
from analytics.pages.questions import PAGES
from analytics.render.foresight import next_choices
from tests.browser.conftest import PATIENCE_MS, arrived, choose, settled

pytestmark = pytest.mark.browser


def said_in(page: Page) -> dict[str, str]:
    return dict(parse_qsl(urlsplit(page.url).query))


@pytest.mark.parametrize("path", ["leak-backs", "prices"])
def test_a_changed_box_asks_for_what_was_worked_out(
    browser: Browser, dashboard: str, demo_store: Path, path: str
) -> None:
    with browser.new_page() as page:
        page.goto(f"{dashboard}/{path}", timeout=PATIENCE_MS)
        arrived(page)
        for last in (True, False):  # to another value, then back to the first
            said, before = said_in(page), page.evaluate("location.search")
            built = PAGES[path][1](Records.of(demo_store), said)
            first = next(each for each in built.choices if isinstance(each, Choice))
            foreseen = list(next_choices(built, said))
            words = list(first.options.values())[-1] if last else first.options[first.default]
            choose(page, page.get_by_role("combobox", name=first.label), words)
            page.wait_for_function("before => location.search !== before", arg=before)
            settled(page)
            assert said_in(page) in foreseen

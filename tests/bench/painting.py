"""How long a reader waits for each page in a real browser: ``python -m tests.bench.painting STORE``.

Up: the server's start. Cold: a page asked first of a server that is just up, in a browser that has kept nothing.
Later: pages asked of a server afterwards, each for the first time. Of both, when the sentence that answers the page's
question stands, and when all of the page does. Changed: each of the page's choices changed on the page to what nobody
has asked for yet, at once and after a look at the page; from the press of the mouse or of a key, as the page hears of
it, until all of it stands again, the slowest and which it was.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path
from time import perf_counter

import click
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from rich.console import Console
from rich.table import Table

from analytics.answers.records import Records
from analytics.pages.page import Choice, TypedNumber
from analytics.pages.questions import PAGES
from tests.browser.conftest import PATIENCE_MS, arrived, chromium, served, settled

COLUMNS = ("up", "cold: sentence", "whole", "later: sentence", "whole", "at once", "by", "after a look", "by")
LOOK_MS = 10_000
WATCH = """() => {
  const app = document.querySelector('.stApp');
  window.ran = [];
  new MutationObserver(() => window.ran.push([app.dataset.testScriptState, performance.now()]))
    .observe(app, {attributes: true, attributeFilter: ['data-test-script-state']});
  for (const press of ['click', 'keydown']) {
    document.addEventListener(press, () => { window.pressed = performance.now(); }, true);
  }
}"""
"""Keep when the page's script began and ended, and when something was last pressed."""
ENDED = "() => window.ran.at(-1)?.[1] > window.pressed && window.ran.at(-1)[0] === 'notRunning'"
Opened = tuple[float, float]
"""Seconds until the page's sentence stands, and until all of it does."""


@click.command()
@click.argument("store", type=click.Path(path_type=Path, exists=True))
@click.option("--page", "paths", multiple=True, type=click.Choice(tuple(PAGES)), help="Only these; else all.")
def main(store: Path, paths: tuple[str, ...]) -> None:
    """Measure and print, in seconds."""
    table = Table("page", *COLUMNS, title="Seconds in a browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        asked = paths or tuple(PAGES)
        later = _later(browser, store, asked)
        for path in asked:
            table.add_row(path, *(f"{seconds:.2f}" for seconds in _cold(browser, store, path)), *later[path])
        browser.close()
    Console(width=150).print(table)


def _cold(browser: Browser, store: Path, path: str) -> tuple[float, ...]:
    begun = perf_counter()
    with served(store) as url, browser.new_context() as nothing_kept, nothing_kept.new_page() as page:
        return perf_counter() - begun, *_opening(page, url, path)


def _later(browser: Browser, store: Path, paths: Sequence[str]) -> dict[str, tuple[str, ...]]:
    with served(store) as url, browser.new_context() as reader:
        with reader.new_page() as first:
            _opening(first, url, next(iter(PAGES)))
        return {path: _opened_and_changed(reader, url, path, Records.of(store)) for path in paths}


def _opened_and_changed(reader: BrowserContext, url: str, path: str, records: Records) -> tuple[str, ...]:
    choices = PAGES[path][1](records, {}).choices
    with reader.new_page() as page:
        opened = _opening(page, url, path)
        page.evaluate(WATCH)
        changed = [list(_changing(page, choices, look)) for look in (0, LOOK_MS)]
    slowest = [max(found, default=(0.0, "")) for found in changed]
    told = (text for seconds, label in slowest for text in (f"{seconds:.2f}" if label else "", label))
    return *(f"{each:.2f}" for each in opened), *told


def _opening(page: Page, url: str, path: str) -> Opened:
    """Open the page at ``path``."""
    place = "" if path == next(iter(PAGES)) else path
    begun = perf_counter()
    page.goto(f"{url}/{place}", wait_until="commit")
    page.locator("h1").wait_for(timeout=PATIENCE_MS)
    said = perf_counter() - begun
    arrived(page)
    return said, perf_counter() - begun


def _changing(page: Page, choices: Sequence[object], look_ms: int) -> Iterator[tuple[float, str]]:
    """Change each choice once, and tell how long that took and what it was; only boxes where they are looked at."""
    for choice in choices:
        page.wait_for_timeout(look_ms)
        if isinstance(choice, Choice):
            first, *others = (words for value, words in choice.options.items() if value != choice.default)
            wanted = (others or [choice.options[choice.default]])[-1] if look_ms else first
            page.get_by_role("combobox", name=choice.label).click()
            page.get_by_role("option", name=wanted, exact=True).click()
        elif isinstance(choice, TypedNumber) and not look_ms:
            shown = choice.shown()
            another = 1.1 * (shown.default or shown.least or 1)
            page.get_by_role("textbox", name=shown.label).first.fill(f"{another:g}")
            page.keyboard.press("Enter")
        else:
            continue
        page.wait_for_function(ENDED, timeout=PATIENCE_MS)
        yield page.evaluate("window.ran.at(-1)[1] - window.pressed") / 1000, choice.label
        settled(page)


if __name__ == "__main__":
    main()

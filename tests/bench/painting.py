"""How long a reader waits for each page in a real browser: ``python -m tests.bench.painting STORE``.

Up: the server's start. Cold: the first page asked of a server that is just up, in a browser that has kept nothing.
Later: pages asked of a server afterwards, each for the first time. Again: once more. Chosen: with a choice changed.
"""

import time
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from urllib.parse import urlencode

import click
from playwright.sync_api import Browser, BrowserContext, sync_playwright
from rich.console import Console
from rich.table import Table

from analytics.pages.questions import PAGES
from tests.bench.stages import CHANGED
from tests.browser.conftest import arrived, chromium, served

COLUMNS = ("up", "cold", "later", "again", "chosen")


@click.command()
@click.argument("store", type=click.Path(path_type=Path, exists=True))
@click.option("--page", "paths", multiple=True, type=click.Choice(tuple(PAGES)), help="Only these; else all.")
def main(store: Path, paths: tuple[str, ...]) -> None:
    """Measure and print, in seconds."""
    table = Table("page", *COLUMNS, title="Seconds to a whole page")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        asked = paths or tuple(PAGES)
        later = _later(browser, store, asked)
        for path in asked:
            table.add_row(path, *(f"{seconds:.2f}" for seconds in (*_cold(browser, store, path), *later[path])))
        browser.close()
    Console(width=90).print(table)


def _cold(browser: Browser, store: Path, path: str) -> tuple[float, float]:
    begun = time.perf_counter()
    with served(store) as url, browser.new_context() as nothing_kept:
        up = time.perf_counter() - begun
        return up, _opening(nothing_kept, url, path)


def _later(browser: Browser, store: Path, paths: tuple[str, ...]) -> dict[str, tuple[float, float, float]]:
    with served(store) as url, browser.new_context() as reader:
        _opening(reader, url, next(iter(PAGES)))
        return {
            path: (
                _opening(reader, url, path),
                _opening(reader, url, path),
                _opening(reader, url, path, CHANGED.get(path, {})),
            )
            for path in paths
        }


def _opening(reader: BrowserContext, url: str, path: str, said: Mapping[str, str] = MappingProxyType({})) -> float:
    """Seconds until the page at ``path`` is whole in a tab of its own."""
    place = "" if path == next(iter(PAGES)) else path
    with reader.new_page() as page:
        begun = time.perf_counter()
        page.goto(f"{url}/{place}?{urlencode(said)}")
        arrived(page)
        return time.perf_counter() - begun


if __name__ == "__main__":
    main()

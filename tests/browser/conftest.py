"""A dashboard on the demo, as ``leakback dashboard`` serves it, and a real browser."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright
from playwright.sync_api import TimeoutError as PlaywrightTimeout

STARTS_WITHIN_SECONDS = 60
PATIENCE_MS = 120_000
REOPENED = 4
LIES_STILL = """async (folded) => {
    for (let height = -1, frames = 0; frames < 10; ) {
        await new Promise(requestAnimationFrame);
        frames = folded.offsetHeight === height ? frames + 1 : 0;
        height = folded.offsetHeight;
    }
}"""
"""Waits until what slides open has been as high as it is for ten frames."""
LIST_WHOLE = "document.querySelectorAll('.lb-more:not([open]) > summary').forEach((each) => each.click())"
"""Opens the rows of long lists that a phone folds away."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give what drives a browser a second try: on a busy machine a page may be drawn anew under a click."""
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.flaky(reruns=1))


def chromium() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found:
        return found
    if os.environ.get("CI"):
        pytest.fail("no Chromium on this machine: .ci/run installs it")
    pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium()
    expect.set_options(timeout=PATIENCE_MS)  # a busy machine is no fault of the page's
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_until_up(url: str, server: subprocess.Popen[bytes]) -> None:
    give_up_at = time.monotonic() + STARTS_WITHIN_SECONDS
    while time.monotonic() < give_up_at:
        if server.poll() is not None:
            pytest.fail(f"the dashboard stopped with code {server.returncode}")
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=2) as answer:  # noqa: S310 - our own server
                if answer.status == 200:
                    return
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    pytest.fail(f"the dashboard was not up within {STARTS_WITHIN_SECONDS} s")


def settled(page: Page) -> None:
    """Wait until the page's script has run to its end."""
    page.wait_for_function(
        "document.querySelector('.stApp')?.dataset.testScriptState === 'notRunning'", timeout=PATIENCE_MS
    )


def unfold(summary: Locator) -> None:
    """Open what is folded away, and wait until it lies still: what is clicked while it opens moves away beneath."""
    summary.click()
    folded = summary.locator("xpath=..")
    expect(folded).to_have_attribute("open", "", timeout=PATIENCE_MS)
    folded.evaluate(LIES_STILL)


def choose(page: Page, box: Locator, option: str | None = None) -> None:
    """Pick an option of a box's list, the last where none is named; opened again where a late change has closed it."""
    wanted = page.get_by_role("option", name=option, exact=True) if option else page.get_by_role("option").last
    for _ in range(REOPENED):
        settled(page)
        box.click()
        try:
            wanted.click(timeout=PATIENCE_MS / REOPENED)
        except PlaywrightTimeout:
            page.keyboard.press("Escape")
        else:
            return
    pytest.fail(f"no option {option or ''} to pick")


def arrived(page: Page) -> None:
    """Wait for a page's sentence and the end of its work."""
    expect(page.locator("h1")).to_be_visible(timeout=PATIENCE_MS)
    settled(page)


def opened(page: Page, url: str) -> str:
    """Open a page and wait until it is whole; all it says."""
    page.goto(url, timeout=PATIENCE_MS)
    arrived(page)
    return page.locator("body").inner_text()


@pytest.fixture(scope="session")
def dashboard(demo_store: Path) -> Iterator[str]:
    with served(demo_store) as url:
        yield url


@contextmanager
def served(store: Path, port: int | None = None, log: Path = Path(os.devnull)) -> Iterator[str]:
    """The address of a dashboard on ``store``, stopped at the end; what the server writes goes to ``log``."""
    port = port or free_port()
    command = [sys.executable, "-m", "analytics.cli", "dashboard", "--store", str(store), "--port", str(port)]
    with log.open("wb") as said, subprocess.Popen(command, stdout=said, stderr=said) as server:
        url = f"http://127.0.0.1:{port}"
        try:
            wait_until_up(url, server)
            yield url
        finally:
            server.terminate()
            server.wait(timeout=20)

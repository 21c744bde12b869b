"""Makes the README's pictures from the demo: ``.venv/bin/python shared/pictures/make.py`` (needs Chromium)."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).resolve().parent
WAIT_SECONDS = 90
PICTURES = {
    "today.png": ("", 1000),
    "job.png": ("upcoming?job_id=J-5006", 1500),
    "leak-backs.png": ("leak-backs", 1000),
}


def main() -> None:
    """Serve the demo, take the pictures, stop."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "analytics.cli", "demo", "--port", str(port)]
    with subprocess.Popen(command) as server:  # noqa: S603 - our own fixed words
        try:
            _wait(f"http://127.0.0.1:{port}")
            with sync_playwright() as playwright:
                chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
                page = chromium.new_page(viewport={"width": 1200, "height": 900})
                for name, (path, height) in PICTURES.items():
                    _take(page, f"http://127.0.0.1:{port}/{path}", HERE / name, height)
                chromium.close()
        finally:
            server.terminate()


def _wait(url: str) -> None:
    give_up_at = time.monotonic() + WAIT_SECONDS
    while time.monotonic() < give_up_at:
        try:
            urllib.request.urlopen(f"{url}/_stcore/health", timeout=2)  # noqa: S310 - our own server
        except OSError:
            time.sleep(0.3)
        else:
            return
    sys.exit(f"the demo was not up within {WAIT_SECONDS} s")


def _take(page: Page, url: str, picture: Path, height: int) -> None:
    page.set_viewport_size({"width": 1200, "height": height})
    page.goto(url)
    page.wait_for_selector("h1", timeout=30_000)
    page.wait_for_function("document.querySelector('.stApp')?.dataset.testScriptState === 'notRunning'")
    page.wait_for_timeout(1500)
    page.screenshot(path=str(picture))


if __name__ == "__main__":
    main()

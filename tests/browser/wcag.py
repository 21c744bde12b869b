"""What of WCAG 2.2, A and AA, a page breaks."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

STANDARD = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]},
    "resultTypes": ["violations"],
}


def violations(page: Page) -> list[tuple[str, Any]]:
    """The rules that are broken, each with the first element that breaks it and how."""
    found = Axe().run(page, options=STANDARD).response["violations"]
    return [(each["id"], (each["nodes"][0]["html"][:200], each["nodes"][0]["failureSummary"])) for each in found]

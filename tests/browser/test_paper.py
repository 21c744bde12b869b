"""Paper from the dashboard, and the one-file report opened as a reader would: offline."""

import csv
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from playwright.sync_api import Browser, expect
from playwright.sync_api import Page as Shown

from analytics.pages.page import Column, Document, Page, Table
from analytics.render.standalone import html
from tests.browser.conftest import PATIENCE_MS, opened

pytestmark = pytest.mark.browser


@pytest.fixture
def page(browser: Browser) -> Iterator[Shown]:
    context = browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    yield context.new_page()
    context.close()


def flags(store: Path) -> list[dict[str, Any]]:
    command = [sys.executable, "-m", "analytics.cli", "flags", "--all", "--store", str(store), "--format", "json"]
    found: list[dict[str, Any]] = json.loads(
        subprocess.run(command, check=True, capture_output=True, text=True).stdout
    )["rows"]
    return found


def test_on_a_phone_a_number_that_heads_a_row_keeps_its_name(browser: Browser, tmp_path: Path) -> None:
    columns = (Column("foreseen", "foreseen", kind="percent"), Column("cracks", "cracks", kind="number"))
    rows = pl.DataFrame({"foreseen": [0.022], "cracks": [369]})
    file = tmp_path / "one.html"
    file.write_text(html(Document("One", (Page("One", (Table(columns, rows, title="One"),)),))), encoding="utf-8")
    shown = browser.new_page(viewport={"width": 390, "height": 800})
    shown.goto(file.as_uri())
    named = "each => getComputedStyle(each, '::before').content"
    assert shown.locator("tbody td").first.evaluate(named) == '"foreseen"'
    shown.close()


def test_on_a_phone_what_a_row_is_called_stays_in_its_row(browser: Browser, tmp_path: Path) -> None:
    rows = pl.DataFrame({"name": ["dearer"], "changes": [", ".join(["an hour of labour at 82.00"] * 4)], "cost": [1.0]})
    columns = (Column("name", "scenario", under="changes"), Column("cost", "cost", kind="number"))
    file = tmp_path / "one.html"
    file.write_text(html(Document("One", (Page("One", (Table(columns, rows, title="One"),)),))), encoding="utf-8")
    shown = browser.new_page(viewport={"width": 390, "height": 800})
    shown.goto(file.as_uri())
    right = "each => each.getBoundingClientRect().right"
    row = shown.locator("tbody tr").evaluate(right)
    assert shown.locator("tbody td").first.evaluate(right) <= row
    assert shown.locator("tbody .lb-under").evaluate(right) <= row
    shown.close()


def taken(page: Shown, button: str) -> Path:
    with page.expect_download(timeout=PATIENCE_MS) as download:
        page.get_by_role("button", name=button, exact=True).first.click()
    return Path(download.value.path())


def test_a_jobs_sheet_is_printed_from_its_page(page: Shown, dashboard: str, demo_store: Path) -> None:
    job = next(row["job_id"] for row in flags(demo_store) if row["action"] == "engineer_review")
    opened(page, f"{dashboard}/upcoming?job_id={job}")
    for button in ("Print the job sheet", "Print it on US Letter", "Print the engineer's referral"):
        assert taken(page, button).read_bytes().startswith(b"%PDF-")


def test_a_table_is_taken_with_the_command_lines_numbers(page: Shown, dashboard: str, demo_store: Path) -> None:
    opened(page, f"{dashboard}/upcoming?needs=every")
    written = list(csv.DictReader(taken(page, "as CSV").read_text(encoding="utf-8-sig").splitlines()))
    said = {row["crack_id"]: row["risk"] for row in flags(demo_store)}
    assert {row["crack"]: float(row["leak-back in 24 months, share"]) for row in written} == pytest.approx(said)
    assert taken(page, "as XLSX").read_bytes().startswith(b"PK")


def test_a_chart_is_taken_as_a_picture(page: Shown, dashboard: str) -> None:
    opened(page, f"{dashboard}/leak-backs")
    offers = page.locator("[class*='st-key-offer-']")
    for button, start in (("as PNG", b"\x89PNG"), ("as SVG", b"<svg ")):
        with page.expect_download(timeout=PATIENCE_MS) as download:
            offers.get_by_role("button", name=button, exact=True).first.click()
        assert Path(download.value.path()).read_bytes().startswith(start)


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_report_opens_offline(browser: Browser, demo_store: Path, tmp_path: Path, width: int, scheme: Any) -> None:
    file = tmp_path / "report.html"
    command = [sys.executable, "-m", "analytics.cli", "report", "--month", "2025-03", "--output", str(file)]
    subprocess.run([*command, "--store", str(demo_store)], check=True, capture_output=True)
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, offline=True)
    page, asked, faults = context.new_page(), [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: faults.append(message.text))
    page.goto(file.as_uri())
    expect(page.locator("h1")).to_contain_text("March 2025")
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]
    assert faults == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == {"light": "rgb(250, 248, 244)", "dark": "rgb(20, 25, 29)"}[scheme]
    context.close()

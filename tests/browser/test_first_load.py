"""An empty store: what it offers, and a spreadsheet in somebody else's words brought, looked through and loaded."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from playwright.sync_api import Browser, Page, expect

from analytics.answers.loading import begin
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from tests.browser.conftest import PATIENCE_MS, opened, served, settled
from tests.browser.wcag import violations

pytestmark = pytest.mark.browser
THEIRS = """Ticket;Date of work;Team;Length of crack ft;Wall in;Product used;Gallons;Customer phone
T-101;03/05/2024;Red;8.5;8;PU foam;0.11;555-0100
T-102;03/07/2024;Red;7.0;8;PU foam;0.05;555-0101
T-103;03/19/2024;Blue;9.25;10;PU foam;0.21;555-0102
T-104;04/22/2024;Blue;6.5;8;PU foam;plenty;555-0103
"""


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "new.duckdb"
    assert begin(path)
    return path


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844}, accept_downloads=True, color_scheme="dark")
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


def test_a_foreign_spreadsheet_is_looked_through_and_loaded_in_three_steps(page: Page, store: Path) -> None:
    with served(store) as url:
        opened(page, url)
        expect(page.locator("h1")).to_contain_text("Nothing is loaded yet")
        with page.expect_download() as download:
            page.get_by_role("button", name="Take the blank files").click()
        blank = ZipFile(BytesIO(Path(download.value.path()).read_bytes())).namelist()
        assert set(blank) == {f"{name}.csv" for name in TABLES} | {"policy.toml"}
        assert _step(page) == "Choose your files"
        file = store.with_name("walls 2024.csv")
        file.write_text(THEIRS, encoding="utf-8")
        page.locator("input[type=file]").set_input_files(file)
        expect(page.get_by_role("button", name="Load these rows")).to_be_visible()
        settled(page)
        assert _step(page) == "Load them"
        expect(page.locator("body")).to_contain_text("7 rows would go in, or are in already; 1 would be rejected.")
        expect(page.locator("body")).to_contain_text("Left out, and never kept: Customer phone.")
        first_rows = page.get_by_role("table", name="First rows, before and after")
        page.locator(".lb-panel", has=first_rows).locator("summary").click()
        preview = first_rows.inner_text()
        assert all(cell in preview for cell in ("8.5", "2.5908", "03/05/2024", "2024-03-05", "0.11", "0.416395"))
        assert violations(page) == []
        page.get_by_role("button", name="Load these rows").click()
        expect(page.locator(".lb-done")).to_contain_text("7 went in")
    records = Records.of(store)
    assert records.ask("done_cracks")["length_m"].sum() == pytest.approx(0.3048 * (8.5 + 7.0 + 9.25))
    assert b"555-0100" not in store.read_bytes()


def _step(page: Page) -> str:
    return page.locator(".lb-progress [aria-current=step]").inner_text()


def test_no_box_of_a_quote_cuts_off_what_it_opens_with(page: Page, store: Path) -> None:
    with served(store) as url:
        opened(page, f"{url}/quote")
        expect(page.get_by_role("combobox", name="Warranty")).to_have_value("without end")
        for width in (1280, 390):
            page.set_viewport_size({"width": width, "height": 844})
            cut = "(boxes) => boxes.filter((box) => box.scrollWidth > box.clientWidth).map((box) => box.value)"
            assert page.locator("input:visible").evaluate_all(cut) == [], f"{width} px"

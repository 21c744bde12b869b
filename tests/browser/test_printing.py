"""A page printed from the browser: light, with what it says and is asked for, and nothing to press."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import Literal

import polars as pl
import pytest
from PIL import Image
from playwright.sync_api import Browser
from playwright.sync_api import Page as Shown

from analytics.charts.palette import COLOURS
from analytics.pages.page import Column, Document, Page, Table
from analytics.render.standalone import html
from tests.browser.conftest import PATIENCE_MS, opened

pytestmark = pytest.mark.browser
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
MOST_SHEETS = {"today": 2, "crews": 3, "upcoming?job_id=JOB": 2, "quote": 2}
"""Pages with files to take, charts, a drawing and forms, and many choices; how many sheets of A4 each may take."""
SET_TO = {"today": "", "crews": "Within: 24 months", "upcoming?job_id=JOB": "", "quote": "Resin: epoxy"}
OFFERS = ("as CSV", "Print ", "Click a dot", "Load files", "How this is worked out", "Record about", "on paper")
LIGHT, SAME = 240, 8
"""Of 255: how light a sheet is on the whole, and how far two greys of one sheet may be apart."""
PAINTED = """([scheme, colour]) => !document.querySelector('.stApp .stSkeleton, .stApp [data-testid=stSkeleton]')
    && getComputedStyle(document.querySelector('.stApp')).colorScheme === scheme
    && [...document.querySelectorAll('.stVegaLiteChart')].every((each) => each.querySelector(`[fill="${colour}" i]`))"""
"""Whether the page and its charts are drawn, in the colours of a scheme: each chart has words in the muted one."""


@pytest.fixture
def page(browser: Browser) -> Shown:
    if shutil.which("pdftotext") is None or shutil.which("pdftoppm") is None:
        pytest.skip("no pdftotext on this machine (Debian: apt-get install poppler-utils)")
    return browser.new_page(viewport={"width": 1280, "height": 900})


def printed(page: Shown, file: Path) -> str:
    """All that the sheets say, in one line; the sheets lie beside ``file`` as grey pictures."""
    page.pdf(path=file, prefer_css_page_size=True, print_background=True)
    subprocess.run(["pdftoppm", "-r", "40", "-gray", str(file), str(file.with_suffix(""))], check=True)
    said = subprocess.run(["pdftotext", "-layout", str(file), "-"], check=True, capture_output=True, text=True).stdout
    return " ".join(said.split())


def sheets(file: Path) -> list[Image.Image]:
    return [Image.open(each) for each in sorted(file.parent.glob(f"{file.stem}-*.pgm"))]


def test_a_page_prints_light_with_its_answer_and_nothing_to_press(page: Shown, dashboard: str, tmp_path: Path) -> None:
    opened(page, f"{dashboard}/upcoming")
    job = page.locator("td a[href*='job_id=']").first.inner_text()
    for place, most in MOST_SHEETS.items():
        opened(page, f"{dashboard}/{place.replace('JOB', job)}")
        answer = " ".join(page.locator("h1").inner_text().split())
        made = {}
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(PAINTED, arg=[scheme, COLOURS["muted"].on(scheme)], timeout=PATIENCE_MS)
            made[scheme] = tmp_path / f"{place.partition('?')[0]}-{scheme}.pdf"
            said = printed(page, made[scheme])
            assert answer in said
            assert SET_TO[place] in said
            assert "records to" in said
            assert [label for label in OFFERS if label in said] == []
            assert re.search(r"\b1 of (\d)\b", said)
        light, dark = (sheets(made[scheme]) for scheme in SCHEMES)
        assert len(light) == len(dark) <= most
        assert min(_mean(sheet) for sheet in dark) > LIGHT
        assert max(_furthest(one, other) for one, other in zip(light, dark, strict=True)) < SAME


def test_a_file_prints_with_its_words_whole_and_what_is_beneath_a_figure_no_larger(page: Shown, tmp_path: Path) -> None:
    short = ("crew", "cracks watched", "seen until now", "expected of it", "verdict of chance")
    wide = ("over expected", "after practice", "without others")
    columns = (
        *(Column(word, word) for word in short),
        *(Column(word, word, kind="number", low="low", high="high") for word in wide),
    )
    values = {word: ["C1"] for word in short} | {word: [2.0] for word in wide} | {"low": [1.0], "high": [10.0**15]}
    rows = pl.DataFrame(values)
    pages = (Page("One.", (Table(columns, rows, title="One"),)), Page("Two."))
    file = tmp_path / "one.html"
    file.write_text(html(Document("One", pages)), encoding="utf-8")
    page.goto(file.as_uri())
    said = printed(page, file.with_suffix(".pdf"))
    assert [word for word in " ".join(short + wide).split() if word not in said.split()] == []
    assert "1 of 2" in said
    page.emulate_media(media="print")
    size = "each => parseFloat(getComputedStyle(each).fontSize)"
    assert page.locator(".lb-under").first.evaluate(size) < page.locator("tbody td").first.evaluate(size)


def _mean(sheet: Image.Image) -> float:
    counts = sheet.histogram()
    return sum(grey * count for grey, count in enumerate(counts)) / sum(counts)


def _furthest(one: Image.Image, other: Image.Image) -> int:
    return max(abs(a - b) for a, b in zip(one.tobytes(), other.tobytes(), strict=True))

"""One HTML file: nothing fetched, nothing run, light and dark, and the screen's own words."""

import re
from html.parser import HTMLParser

import pytest

from analytics.charts.palette import COLOURS
from analytics.pages.page import Document, Download, Downloads, Page, Section, Table, Words
from analytics.render import markup, standalone
from analytics.render.cells import cell

VOID = {"meta", "img", "br"}
NASTY = '"><script src="https://example.com/x.js"></script>'


class Reader(HTMLParser):
    """Elements and text as a browser would meet them."""

    def __init__(self, written: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.open: list[str] = []
        self.feed(written)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.text += data


@pytest.fixture
def written(page: Page) -> str:
    return standalone.html(Document("Made <up>", (page, Page("Second.")), "An invented business"))


def test_it_is_one_whole_file(written: str) -> None:
    read = Reader(written)
    assert written.startswith("<!doctype html>")
    assert read.open == []
    assert read.text.count("Second.") == 1
    assert "An invented business" in read.text
    assert "Made <up>" in read.text


def test_it_fetches_nothing_and_runs_nothing(written: str) -> None:
    tags = {tag for tag, _ in Reader(written).elements}
    assert not tags & {"script", "link", "iframe", "object", "embed", "form", "base"}
    assert not re.search(r"https?:|//[a-z]|@import", written)
    assert not re.search(r"url\((?!#)", written)
    sources = [attrs["src"] for tag, attrs in Reader(written).elements if tag == "img"]
    assert sources
    assert all(str(source).startswith("data:image/svg+xml;base64,") for source in sources)
    assert not [attrs for _, attrs in Reader(written).elements if any(name.startswith("on") for name in attrs)]


def test_its_links_lead_nowhere_outside(written: str) -> None:
    assert not [attrs for tag, attrs in Reader(written).elements if tag == "a"]


def test_words_of_the_records_are_never_markup() -> None:
    written = standalone.html(Document(NASTY, (Page(NASTY, (Words(NASTY),), wanting=NASTY),), NASTY))
    assert "script" not in {tag for tag, _ in Reader(written).elements}
    assert Reader(written).text.count(NASTY) == 5


def test_light_and_dark_are_the_palettes(written: str) -> None:
    light, _, dark = written.partition("prefers-color-scheme:dark")
    for role, colour in COLOURS.items():
        assert f"--{role}:{colour.light};" in light
        assert f"--{role}:{colour.dark};" in dark
    assert "@media print" in written


def test_charts_are_inline_and_carry_their_words(written: str) -> None:
    charts = [attrs for tag, attrs in Reader(written).elements if tag == "svg"]
    assert [chart["aria-label"] for chart in charts] == ["Two plots. (1 of 2)", "Two plots. (2 of 2)"]
    assert all(chart["role"] == "img" for chart in charts)
    svgs = re.findall(r"<svg.*?</svg>", written, re.DOTALL)
    assert not any(colour.light in svg for svg in svgs for colour in COLOURS.values())


def test_every_cell_is_the_screens(written: str, page: Page) -> None:
    text = Reader(written).text
    table = next(part for part in page.parts if isinstance(part, Table))
    for row in table.rows.iter_rows(named=True):
        for column in table.columns:
            assert cell(column, row, 0).main in text
    assert markup.table(table).count("<td") == written.count("<td")


def test_the_method_is_folded_away(written: str) -> None:
    assert "<strong>Formula</strong>" in written
    assert [tag for tag, _ in Reader(written).elements].count("details") == 1


def test_what_is_to_be_taken_away_is_not_in_it() -> None:
    offered = Downloads((Download("Print this", "a.pdf", lambda: Document("x", ())),))
    assert "Print this" not in standalone.html(Document("t", (Page("A.", (offered, Section("s", (offered,)))),)))


def test_an_unknown_part_is_our_mistake() -> None:
    with pytest.raises(TypeError, match="cannot show int"):
        standalone.written(3)

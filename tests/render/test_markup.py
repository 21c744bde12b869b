import re
from base64 import b64decode
from collections.abc import Sequence
from dataclasses import replace
from html.parser import HTMLParser
from urllib.parse import parse_qs, urlsplit

import polars as pl
import pytest

from analytics.pages.page import Caution, Drawing, Figure, Figures, ReasonLine, Reasons, Table, Words
from analytics.pages.sheet import Blank, Blanks, Step, Steps
from analytics.render import markup, standalone

NASTY = '"><script>alert(1)</script>'
ALLOWED = {"h1", "h2", "h3", "p", "span", "b", "div", "dl", "dt", "dd", "ul", "ol", "li", "img", "a"}
ALLOWED |= {"table", "thead", "tbody", "tr", "th", "td", "details", "summary"}


class Reader(HTMLParser):
    """Collects elements and text as a browser would."""

    def __init__(self, markup_: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.open: list[str] = []
        self.feed(markup_)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag != "img":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.mark.parametrize(
    "written",
    [
        markup.answer(NASTY),
        markup.heading(NASTY),
        markup.note(NASTY),
        markup.fold(NASTY),
        markup.paragraphs(Words(NASTY)),
        markup.caution(Caution(NASTY, NASTY)),
        markup.figures(Figures((Figure(NASTY, NASTY, count=NASTY, kind="text", note=NASTY),))),
        markup.reasons(Reasons(NASTY, (ReasonLine(NASTY, NASTY, NASTY, NASTY, NASTY),))),
        markup.drawing(Drawing("<svg/>", NASTY)),
        markup.steps(Steps(NASTY, (Step(NASTY, NASTY),), NASTY)),
        markup.blanks(Blanks(NASTY, (Blank(NASTY, NASTY), Blank(NASTY, tick=True)), (NASTY,))),
    ],
)
def test_no_value_is_ever_markup(written: str) -> None:
    read = Reader(written)
    assert {tag for tag, _ in read.elements} <= ALLOWED
    assert read.open == []
    assert NASTY in read.text or read.all("img")[0]["alt"] == NASTY


def test_a_job_number_is_never_markup(planned: Table) -> None:
    read = Reader(markup.table(planned))
    assert {tag for tag, _ in read.elements} <= ALLOWED
    assert "<script>alert(1)</script>" in read.text


def test_headings_and_labels_of_a_table_are_never_markup(planned: Table) -> None:
    columns = tuple(
        type(column)(column.key, NASTY, column.kind, help=NASTY, low=column.low, high=column.high)
        for column in planned.columns
    )
    read = Reader(markup.table(Table(columns, planned.rows, NASTY, NASTY)))
    assert {tag for tag, _ in read.elements} <= ALLOWED
    assert read.all("table")[0]["aria-label"] == NASTY


def test_a_table_is_a_table_to_a_screen_reader_however_it_is_laid_out(planned: Table) -> None:
    read = Reader(markup.table(planned))
    assert read.all("table")[0]["role"] == "table"
    assert [head["role"] for head in read.all("th")] == ["columnheader"] * 5
    assert {head["scope"] for head in read.all("th")} == {"col"}
    assert [cell["role"] for cell in read.all("td")] == ["cell"] * 10
    assert [cell["data-label"] for cell in read.all("td")][:3] == ["when", "job", "what it needs"]


def test_numbers_stand_right_and_job_numbers_are_not_wide(planned: Table) -> None:
    first = [str(cell["class"]).split() for cell in Reader(markup.table(planned)).all("td")[:5]]
    assert ["lb-right" in classes for classes in first] == [False, False, False, False, True]
    assert "lb-wide" in first[3]


def test_an_action_has_word_and_mark(planned: Table) -> None:
    read = Reader(markup.table(planned))
    assert "◆ engineer first" in read.text
    assert {"aria-hidden": "true"} in read.all("span")


def test_a_link_carries_the_value_in_the_address(planned: Table) -> None:
    links = [urlsplit(str(link["href"])) for link in Reader(markup.table(planned)).all("a")]
    assert [link.path for link in links] == ["check-a-quote", "check-a-quote"]
    assert [parse_qs(link.query)["job_id"] for link in links] == [["J-3982"], ["<script>alert(1)</script>"]]


def long(planned: Table, actions: Sequence[str]) -> Table:
    return replace(planned, rows=pl.concat([planned.rows[:1]] * len(actions)).with_columns(action=pl.Series(actions)))


def folded(written: str) -> list[int]:
    rows = Reader(written).all("tr")[1:]
    return [place for place, row in enumerate(rows, 1) if row.get("class") == "lb-rest"]


def test_a_phone_folds_away_the_rest_of_a_long_table_and_says_how_many_of_what(planned: Table) -> None:
    written = markup.table(long(planned, ["measure_first"] * 7 + ["extra_prep", "standard"] * 2), folds=True)
    assert folded(written) == [7, 8, 9, 10, 11]
    assert "Show 5 more: 1 measure first, 2 extra prep, 2 standard" in Reader(written).text


def test_a_phone_folds_no_row_of_an_engineers_away(planned: Table) -> None:
    written = markup.table(
        long(planned, ["extra_prep"] * 8 + ["engineer_review", "do_not_inject", "extra_prep"]), folds=True
    )
    assert folded(written) == [7, 8, 11]
    assert "Show 3 more: 3 extra prep" in Reader(written).text
    assert markup.table(long(planned, ["engineer_review"] * 12), folds=True).count("lb-more") == 0


def test_a_table_folds_only_where_it_is_long_and_where_it_is_asked_to(planned: Table) -> None:
    assert folded(markup.table(long(planned, ["standard"] * 9), folds=True)) == []
    assert "Show" not in markup.table(long(planned, ["standard"] * 9), folds=True)
    assert folded(markup.table(replace(long(planned, ["standard"] * 30), whole=True), folds=True)) == []
    assert folded(markup.table(long(planned, ["standard"] * 30))) == []
    assert "Show" not in markup.table(long(planned, ["standard"] * 30))


def test_an_empty_table_says_so(planned: Table) -> None:
    empty = Table(planned.columns, planned.rows.clear(), "Planned cracks", empty="Nothing is planned.")
    assert Reader(markup.table(empty)).text == "Nothing is planned."
    assert Reader(markup.table(empty)).all("table") == []


def test_a_drawing_is_an_image_with_its_words() -> None:
    image = Reader(markup.drawing(Drawing("<svg>ä</svg>", "A wall."))).all("img")[0]
    assert image["alt"] == "A wall."
    assert b64decode(str(image["src"]).removeprefix("data:image/svg+xml;base64,")).decode() == "<svg>ä</svg>"


def test_a_blank_line_parts_paragraphs() -> None:
    assert len(Reader(markup.paragraphs(Words("One.\n\nTwo.\n\n"))).all("p")) == 2


def test_silence_leaves_no_empty_line() -> None:
    assert markup.note("") == ""


def test_what_is_said_on_the_screen_only_is_told_apart() -> None:
    hint = '<span class="lb-on-screen">Click.</span>'
    assert markup.note("So many.", on_screen="Click.") == f'<p class="lb-note">So many. {hint}</p>'
    assert markup.note("", on_screen="Click.") == f'<p class="lb-note">{hint}</p>'


def test_boxes_are_named_by_row_and_column() -> None:
    read = Reader(markup.blanks(Blanks("Done", (Blank("resin", "L"), Blank("dried", tick=True)), ("K-1", "K-2"))))
    assert [head["scope"] for head in read.all("th")] == ["col", "col", "row", "row"]
    assert "resin, L" in read.text
    assert read.text.count("☐") == 2


def test_steps_are_numbered_in_order() -> None:
    read = Reader(markup.steps(Steps("Steps", (Step("First.", "TxDOT"), Step("Second.")))))
    assert len(read.all("ol")) == 1
    assert read.text.index("First.") < read.text.index("TxDOT") < read.text.index("Second.")


def test_the_option_of_a_command_is_in_one_piece() -> None:
    read = Reader(markup.paragraphs(Words("leakback dashboard --store NAME.duckdb")))
    assert read.text == "leakback dashboard --store NAME.duckdb"
    assert read.all("span") == [{"class": "lb-whole"}]


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("wait for J-5047-1, J-5047-2.", ["J-5047-1", "J-5047-2"]),
        ("Source: NIOSH 96-111", ["96-111"]),
        ("a leak-back, a follow-up of 2-part resin", []),
        ("A-" + "1" * 40, []),
    ],
)
def test_a_number_with_hyphens_is_in_one_piece_where_a_phone_has_room_for_it(text: str, whole: list[str]) -> None:
    assert re.findall(r'<span class="lb-whole">(.*?)</span>', markup.note(text)) == whole


def test_a_source_is_called_one_wherever_it_stands() -> None:
    said = "Source: a handbook"
    assert said in markup.caution(Caution("A screening aid.", "a handbook"))
    assert said in markup.steps(Steps("Steps", (Step("First.", "a handbook"),)))
    assert said in markup.reasons(Reasons("Why", (ReasonLine("wide", source="a handbook"),)))
    assert "Source" not in markup.caution(Caution("A screening aid."))


def test_words_that_name_a_page_link_there_on_the_screen_alone() -> None:
    given = Words("8 calls wait, under Write down.\n\nMore <b> there.", links=(("Write down", "record?a=1&b=2"),))
    [link] = Reader(markup.paragraphs(given)).all("a")
    assert link["href"] == "record?a=1&b=2"
    assert '>Write down</a>.</p><p class="lb-words lb-plain">More &lt;b&gt; there.' in markup.paragraphs(given)
    assert "<a" not in standalone.written(given)
    assert "under Write down." in standalone.written(given)


def test_a_link_is_looked_for_in_words_alone() -> None:
    given = Words("strong words in words", "strong", (("words", "one"), ("strong", "two"), ("in", "three")))
    links = Reader(markup.paragraphs(given)).all("a")
    assert [link["href"] for link in links] == ["two", "one", "three"]
    assert markup.paragraphs(given).endswith('<a href="three">in</a> words</p>')

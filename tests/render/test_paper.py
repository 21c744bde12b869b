from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from analytics.errors import LeakbackError
from analytics.pages.page import Document, Page
from analytics.render import paper
from tests.render.test_typeset import text_of

DOCUMENT = Document("Made up", (Page("Answer."),))


@pytest.mark.parametrize(("name", "start"), [("a.pdf", b"%PDF-"), ("A.PDF", b"%PDF-"), ("a.html", b"<!doctype html>")])
def test_a_files_ending_says_what_it_is(name: str, start: bytes) -> None:
    assert paper.made(DOCUMENT, name).startswith(start)


def test_another_ending_is_refused() -> None:
    with pytest.raises(LeakbackError, match=r"end the file's name in \.pdf or \.html"):
        paper.made(DOCUMENT, "a.docx")


def test_a_sheet_says_on_which_day_it_was_printed_and_a_file_only_where_that_is_given(tmp_path: Path) -> None:
    document = replace(DOCUMENT, about="Records to 31 October 2026")
    printed = text_of(paper.made(document, "a.pdf", printed_on=date(2026, 11, 2)), tmp_path)
    assert "Made up · Records to 31 October 2026 · printed on 2 November 2026" in " ".join(printed.split())
    assert "printed on" not in text_of(paper.made(document, "a.pdf"), tmp_path)

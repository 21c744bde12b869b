import pytest

from analytics.errors import LeakbackError
from analytics.pages.page import Document, Page
from analytics.render import paper

DOCUMENT = Document("Made up", (Page("Answer."),))


@pytest.mark.parametrize(("name", "start"), [("a.pdf", b"%PDF-"), ("A.PDF", b"%PDF-"), ("a.html", b"<!doctype html>")])
def test_a_files_ending_says_what_it_is(name: str, start: bytes) -> None:
    assert paper.made(DOCUMENT, name).startswith(start)


def test_another_ending_is_refused() -> None:
    with pytest.raises(LeakbackError, match=r"end the file's name in \.pdf or \.html"):
        paper.made(DOCUMENT, "a.docx")

"""What a phone folds away stands on paper, in a saved page and in the terminal; what is done at a screen does not."""

import io
import json
import re
from collections.abc import Callable

import pytest
from rich.console import Console

from analytics.pages.page import Caution, Document, Folded, Page, Section
from analytics.render import markup, standalone, terminal, typeset

TITLE = "What would change it"
SAID = "Each is an association."


def page(*, on_a_phone: bool) -> Page:
    folded = Folded(TITLE, (Caution(SAID),), on_a_phone=on_a_phone)
    return Page("Answer.", (folded, Section("Crack 1 of 1", (folded,))))


def in_the_terminal(given: Page) -> str:
    file = io.StringIO()
    terminal.show(given, Console(file=file, width=100))
    return file.getvalue()


def in_a_file(given: Page) -> str:
    return standalone.html(Document("t", (given,)))


def on_paper(given: Page) -> str:
    return json.dumps(typeset.page(given))


@pytest.mark.parametrize("shown", [in_the_terminal, in_a_file, on_paper])
@pytest.mark.parametrize(("on_a_phone", "times"), [(True, 2), (False, 0)])
def test_only_what_is_done_at_a_screen_is_left_out(shown: Callable[[Page], str], on_a_phone: bool, times: int) -> None:
    written = shown(page(on_a_phone=on_a_phone))
    assert written.count(SAID) == times
    assert TITLE not in written


def test_the_words_that_open_a_fold_run_on_around_a_cracks_number() -> None:
    """The line of the fold lays its parts side by side, and a number is a part of its own where nothing holds both."""
    [words] = re.findall("<summary>(.*)</summary>", markup.fold("Crack J-5047-1: what raises and lowers its risk"))
    assert words.startswith("<span>Crack <span")
    assert words.endswith("its risk</span>")

"""What a customer wrote is shown as it was written: on the screen, in a file, on paper, in a terminal, never run."""

import io
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path

import polars as pl
import pytest
from rich.console import Console
from streamlit.testing.v1 import AppTest

from analytics.pages.page import (
    Caution,
    Choice,
    Column,
    Document,
    Figure,
    Figures,
    Folded,
    Page,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.render import markup, standalone, terminal, typeset

WORDS = (
    "<script>alert(1)</script>",
    '<img src="x" onerror="alert(1)">',
    "**x**",
    "[a](javascript:alert(1))",
    "`x` _y_ ~~z~~ $a$ :red[b] :smile:",
    "[bold red]x[/]",
    "&lt;b&gt; &amp;",
    "{{x}} {0} %s",
)


def page_of(word: str) -> Page:
    """A page that says ``word`` wherever it can say something."""
    rows = pl.DataFrame({"job_id": [word], "branch": [word]})
    table = Table((Column("job_id", word, under="branch", help=word, link="record"),), rows, word, note=word)
    return Page(
        answer=word,
        parts=(
            Words(word),
            table,
            Figures((Figure(word, word, count=word, note=word),)),
            Section(word, (Reasons(word, (ReasonLine(word, word, word, word),)), Caution(word, word))),
            Folded(word, (Words(word),)),
        ),
        choices=(Choice("branch", "Branch", {"every": "all", word: word}, "every"),),
        wanting=word,
    )


def _show(page: "Page") -> None:
    from analytics.render import forms as _  # noqa: PLC0415, F401 - the script runs on its own
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.show(page)


def texts(html: str) -> str:
    """What a reader sees of HTML: no tag, and every sign as it is meant."""
    return unescape(re.sub(r"<[^>]*>", "\n", html))


@pytest.mark.parametrize("word", WORDS)
def test_on_the_screen(word: str) -> None:
    app = AppTest.from_function(_show, args=(page_of(word),), default_timeout=60)
    app.run()
    assert not app.exception
    html = "\n".join(element.proto.body for element in app.get("html"))
    assert not re.search(r"<script|<img src=\"x\"|href=\"javascript", html)
    assert texts(html).count(word) >= 14
    assert app.expander[0].label == markup.label(word)
    assert app.selectbox[0].options == ["all", word]
    assert not app.markdown


def test_every_mark_of_a_label_stands_for_itself() -> None:
    assert markup.label("**x** [a](b) :red[c] `d` $e$ <f>") == (r"\*\*x\*\* \[a\]\(b\) \:red\[c\] \`d\` \$e\$ \<f\>")
    assert markup.label("Crack J-1.2, a job") == r"Crack J\-1.2, a job"


@pytest.mark.parametrize("word", WORDS)
def test_in_a_file(word: str) -> None:
    made = standalone.html(Document(word, (page_of(word),), about=word))
    assert not re.search(r"<script|<img src=\"x\"|href=", made)
    assert texts(made).count(word) >= 16


@pytest.mark.parametrize("word", WORDS)
def test_in_the_terminal(word: str) -> None:
    console = Console(file=io.StringIO(), width=400, force_terminal=False)
    terminal.show(page_of(word), console)
    assert isinstance(console.file, io.StringIO)
    assert console.file.getvalue().count(word) >= 12


def test_on_paper(tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine (Debian: apt-get install poppler-utils)")
    file = tmp_path / "made.pdf"
    file.write_bytes(typeset.pdf(Document("Made up", tuple(Page(word, (Words(word),)) for word in WORDS))))
    found = subprocess.run(["pdftotext", "-layout", str(file), "-"], check=True, capture_output=True, text=True).stdout
    plain = re.sub(r"\s+", "", found)
    assert [word for word in WORDS if plain.count(re.sub(r"\s+", "", word)) < 2] == []

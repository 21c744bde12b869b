"""How a figure is worked out: the little Markdown that pages write it in, as HTML and as runs of text."""

from functools import cache
from typing import Literal

from markdown_it import MarkdownIt
from markdown_it.token import Token

Style = Literal["plain", "strong", "em"]
Run = tuple[Style, str]
_STYLES: dict[str, Style] = {"strong_open": "strong", "em_open": "em"}


def html(markdown: str) -> str:
    """The text as HTML: paragraphs, lists and emphasis; anything else is shown as it is written."""
    written: str = _reader().render(markdown)
    return written


def paragraphs(markdown: str) -> list[list[Run]]:
    """The text as paragraphs of runs, each with its style."""
    return [_runs(token.children or []) for token in _reader().parse(markdown) if token.type == "inline"]


def _runs(tokens: list[Token]) -> list[Run]:
    runs: list[Run] = []
    style: Style = "plain"
    for token in tokens:
        if token.nesting:
            style = _STYLES.get(token.type, "plain")
        elif token.content:
            runs.append((style, token.content.replace("\n", " ")))
    return runs


@cache
def _reader() -> MarkdownIt:
    return MarkdownIt("zero").enable(["emphasis", "list"])

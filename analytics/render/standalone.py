"""Pages as one HTML file that opens anywhere, offline: style and pictures inside it, no script, nothing fetched."""

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, singledispatch
from html import escape
from pathlib import Path

from analytics.charts.palette import COLOURS, Mode
from analytics.contract import words
from analytics.pages.page import (
    Caution,
    Chart,
    Document,
    Drawing,
    Figures,
    Page,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blanks, Steps
from analytics.pages.within import readable
from analytics.render import markup, method
from analytics.render.pictures import HALF_PX as NARROW_PX
from analytics.render.pictures import chart_pictures, plot_svg

WORKED_OUT = "How this is worked out"
CLOSED = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
"""The browser's own lock (Content Security Policy): the file may fetch nothing and run nothing."""
_HEX = re.compile("|".join(colour.light for colour in COLOURS.values()), re.IGNORECASE)
_NAMESPACE = re.compile(r' xmlns(:xlink)?="[^"]*"')
_ROLES: Mapping[str, str] = {colour.light.upper(): role for role, colour in COLOURS.items()}


def html(document: Document) -> str:
    """The document as one file of HTML, light or dark as the reader's own screen is, light on paper."""
    pages = "".join(f'<article class="lb-sheet">{_page(page)}</article>' for page in document.pages)
    about = f'<footer class="lb-note">{escape(words.text(document.about))}</footer>' if document.about else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{CLOSED}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(words.text(document.title))}</title><style>{_css()}</style></head>"
        f"<body><main>{pages}</main>{about}</body></html>\n"
    )


@singledispatch
def written(part: object) -> str:
    """One part of a page as HTML."""
    raise TypeError(f"a file cannot show {type(part).__name__}")


written.register(Figures, markup.figures)
written.register(Drawing, markup.drawing)
written.register(Reasons, markup.reasons)
written.register(Caution, markup.caution)
written.register(Steps, markup.steps)
written.register(Blanks, markup.blanks)


@written.register
def _(part: Words) -> str:
    return markup.paragraphs(replace(part, links=()))


@written.register
def _(part: Table) -> str:
    unlinked = tuple(replace(column, link="") for column in part.columns)
    return markup.table(replace(part, columns=unlinked))


@written.register
def _(part: Chart) -> str:
    count = len(part.plots)
    if count == 1:
        narrow = plot_svg(part.plots[0], "light", NARROW_PX)
        plots = _plot(chart_pictures(part)[0], part.alt, "lb-roomy") + _plot(narrow, part.alt, "lb-narrow")
    else:
        pictures = enumerate(chart_pictures(part), start=1)
        plots = "".join(_plot(svg, f"{part.alt} ({index} of {count})") for index, svg in pictures)
    return f'<div class="lb-plots lb-of-{min(count, 2)}">{plots}</div>{markup.note(part.note)}'


@written.register
def _(part: Section) -> str:
    inner = "".join(written(each) for each in readable(part.parts))
    if part.aside is not None:
        inner = f'<div class="lb-beside"><div>{markup.drawing(part.aside)}</div><div>{inner}</div></div>'
    return f"<section>{markup.heading(part.title)}{inner}</section>"


def _page(page: Page) -> str:
    parts = "".join(written(part) for part in readable(page.parts))
    folded = method.html(page.worked_out)
    method_ = f'<details class="lb-method"><summary>{WORKED_OUT}</summary>{folded}</details>' if folded else ""
    return f"{markup.answer(page.answer)}{markup.note(page.wanting)}{parts}{method_}"


def _plot(svg: str, alt: str, role: str = "") -> str:
    named = svg.replace("<svg ", f'<svg role="img" aria-label="{escape(words.text(alt))}" ', 1)
    return f'<div class="{f"lb-plot {role}".strip()}">{_by_role(named)}</div>'


def _by_role(svg: str) -> str:
    """The picture painted by the file's own roles, so that it follows light and dark; no schema is named."""
    plain = _NAMESPACE.sub("", svg)
    return _HEX.sub(lambda found: f"var(--{_ROLES[found[0].upper()]})", plain)


@cache
def _css() -> str:
    dark = f"@media screen and (prefers-color-scheme:dark){{:root{{color-scheme:dark;{_roles('dark')}}}}}"
    shared = Path(__file__).with_name("screen.css").read_text(encoding="utf-8")
    own = Path(__file__).with_name("standalone.css").read_text(encoding="utf-8")
    return f":root{{color-scheme:light;{_roles('light')}}}{dark}\n{shared}\n{own}"


def _roles(mode: Mode) -> str:
    return "".join(f"--{role}:{colour.on(mode)};" for role, colour in COLOURS.items())

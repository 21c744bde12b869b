"""Pages on the screen. A question's page is built from the address, so every view is a link."""

import logging
import mimetypes
from collections.abc import Callable, Sequence
from contextvars import copy_context
from functools import cache, partial, singledispatch
from itertools import chain, groupby
from pathlib import Path

import streamlit as st
from polars.exceptions import PanicException

from analytics.charts.palette import css_variables, light_on_paper
from analytics.charts.plot import dots
from analytics.errors import LeakbackError
from analytics.pages.page import (
    Caution,
    Chart,
    Choice,
    Download,
    Downloads,
    Drawing,
    Figures,
    Page,
    Question,
    Reasons,
    Said,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blanks, Steps
from analytics.render import choosing, markup, paper, plots, taking
from analytics.render.digits import DIGITS
from analytics.render.foresight import Foresight, next_choices
from analytics.render.pressed import say_where_gone

LOG = logging.getLogger("leakback")
WORKED_OUT = "How this is worked out"
UNEXPECTED = "This page could not be shown. What went wrong is in the log; nothing was changed."
OFFER = "offer-"
"""Begins the key of what is offered beneath a table or a chart; the style sheet knows it."""
JUST_DONE = "just-done"
"""Where the sentence of what was just recorded, and its address or none, wait for the page to be built anew."""
UNFORESEEN = (Exception, PanicException)
"""What is a mistake of ours, or of a library that panics, which is no Exception."""
FORESIGHT = Foresight()
CLICK = "Click a dot to see it on its own."
SIDE_BY_SIDE = 2
"""Small multiples in a row, where there is room."""
ASIDE, BESIDE = 34, 66
"""Shares of the width for a drawing and for what stands beside it."""


def dress() -> None:
    """The look of every page; the first thing a script shows."""
    st.set_page_config(layout="wide")
    st.html(f"<style>.stApp{{{css_variables()}}}{_css()}{light_on_paper()}</style>")
    with st.container(key="digits"):
        st.html(f"<script>{DIGITS}</script>", unsafe_allow_javascript=True)


def run(
    questions: Sequence[Question],
    about: str = "",
    opens: Callable[[str], bool] = bool,
    greet: Callable[[], None] | None = None,
    ahead: Sequence[Question] = (),
) -> None:
    """The whole dashboard: a row of links, the page asked for, its answer; ``about`` is a quiet line on every page.

    The first question opens when none is asked for. A link stands for each page whose path ``opens``; ``greet`` shows
    who is there; those ``ahead`` are worked out while another is looked at.
    """
    dress()
    first, *_ = named = [
        st.Page(partial(answer, question, ahead), title=question.title, url_path=question.path)
        for question in questions
    ]
    # Streamlit serves the default page at the bare address only, and calls its own name unknown.
    bare = st.Page(partial(answer, questions[0], ahead), title=first.title, url_path="first", default=True)
    asked = st.navigation([bare, *named], position="hidden")
    pages = [first if asked is first else bare, *named[1:]]
    with st.container(horizontal=True, key="pages"):
        for page in (page for page, question in zip(pages, questions, strict=True) if opens(question.path)):
            if page.url_path == asked.url_path:
                st.html(markup.here(page.title, page.url_path), width="content")
            else:
                st.page_link(page, width="content")
    with st.container(horizontal=True, vertical_alignment="center", key="about"):
        if about:
            st.html(markup.note(about), width="content")
        if greet:
            greet()
    asked.run()


def answer(question: Question, ahead: Sequence[Question] = ()) -> None:
    """Build the question's page from the address and show it; whatever goes wrong is one calm line.

    While it is looked at, it is worked out with another choice, and after a rest what the pages ``ahead`` open with.
    """
    said = st.query_params.to_dict()
    try:
        with FORESIGHT.waited_for():
            page = question.build(said)
            show(page)
    except LeakbackError as error:
        refuse(error)
    except UNFORESEEN:
        LOG.exception("page %s", question.path)
        st.html(markup.answer(UNEXPECTED))
    else:
        seen = question.state()
        changed = (partial(_look_at, question, each, seen) for each in next_choices(page, said))
        others = (partial(_look_at, other, {}, seen) for other in ahead if other.path != question.path)
        FORESIGHT.then(chain(changed, (FORESIGHT.rest,), others))


def _look_at(question: Question, said: Said, seen: object) -> None:
    """Build a page and put its charts into words, for who asks for it next; not of other records than were seen."""
    if question.state() == seen:
        plots.make_ready(question.build(said))


def refuse(error: LeakbackError) -> None:
    """One calm line in place of everything."""
    st.html(markup.answer(str(error)))


def show(page: Page) -> None:
    """The sentence, the choices, the parts, and how it is worked out, folded away."""
    _say_choices_in_words(page)
    st.html(markup.answer(page.answer))
    if done := st.session_state.pop(JUST_DONE, None):
        st.html(markup.done(*done))
    say_where_gone(page)
    _offer_choices(page)
    if page.wanting:
        st.html(markup.note(page.wanting))
    for part in page.parts:
        show_part(part)
    if page.worked_out:
        with st.expander(WORKED_OUT):
            st.markdown(page.worked_out)


def _say_choices_in_words(page: Page) -> None:
    """Where a link gives a choice's value, put its words in the address, as a box does, and begin again."""
    asked = st.query_params
    choices = [each for each in page.choices if isinstance(each, Choice) and asked.get(each.key, "") in each.options]
    said = {each.key: each.options[asked[each.key]] for each in choices}
    if any(asked[key] != words for key, words in said.items()):
        asked.update(said)
        st.rerun()


def _offer_choices(page: Page) -> None:
    """The boxes, a line after a line; one that comes back as the reader left it says so in the address: begin again."""
    if not page.choices:
        return
    asked = set(st.query_params)
    for line, choices in groupby(page.choices, choosing.line_of):
        with st.container(horizontal=True, key=f"choices{line}"):
            for choice in choices:
                choosing.choose(choice)
    if set(st.query_params) - asked:
        st.rerun()


@singledispatch
def show_part(part: object) -> None:
    """Show one part of a page; a door registers its own parts beside these."""
    raise TypeError(f"the screen cannot show {type(part).__name__}")


@show_part.register
def _(part: Words) -> None:
    if shown := markup.paragraphs(part):
        st.html(shown)


@show_part.register
def _(part: Figures) -> None:
    st.html(markup.figures(part))


@show_part.register
def _(part: Table) -> None:
    st.html(markup.table(part, folds=True))
    if part.rows.height:
        _offer(part, taking.table_files(part))


@show_part.register
def _(part: Chart) -> None:
    count = len(part.plots)
    for first in range(0, count, SIDE_BY_SIDE):
        places = st.columns(SIDE_BY_SIDE, gap="medium") if count > 1 else [st.container()]
        row = part.plots[first : first + SIDE_BY_SIDE]
        for index, (place, plot) in enumerate(zip(places, row, strict=False), start=first + 1):
            alt = part.alt if count == 1 else f"{part.alt} ({index} of {count})"
            plots.draw(place, plot, part.picks, alt)
    click = CLICK if part.picks and any(map(dots, part.plots)) else ""
    if part.note or click:
        st.html(markup.note(part.note, on_screen=click))
    _offer(part, taking.chart_files(part))


@show_part.register
def _(part: Drawing) -> None:
    st.html(markup.drawing(part))


@show_part.register
def _(part: Reasons) -> None:
    st.html(markup.reasons(part))


@show_part.register
def _(part: Caution) -> None:
    st.html(markup.caution(part))


@show_part.register
def _(part: Steps) -> None:
    st.html(markup.steps(part))


@show_part.register
def _(part: Blanks) -> None:
    st.html(markup.blanks(part))


@show_part.register
def _(part: Downloads) -> None:
    with st.container(horizontal=True):
        for one in part.rows:
            _button(one.label, one.file_name, partial(_printed, one))


def _printed(one: Download) -> bytes:
    made = one.document()
    return made if isinstance(made, bytes) else paper.made(made, one.file_name, one.paper, paper.today())


def _offer(part: object, files: Sequence[taking.File]) -> None:
    """Quiet buttons beneath a table or a chart; a file is made when it is asked for, not before."""
    with st.container(horizontal=True, horizontal_alignment="right", gap="small", key=f"{OFFER}{id(part)}"):
        for file in files:
            _button(file.label, file.name, file.make, key=f"{id(part)}{file.name}", quiet=True)


def _button(label: str, name: str, make: Callable[[], bytes], key: str = "", *, quiet: bool = False) -> None:
    """A file made when it is asked for: in another thread, so it takes along what this one knows of the reader."""
    knows = copy_context()
    st.download_button(
        label,
        lambda: knows.copy().run(make),
        name,
        mime=mimetypes.guess_type(name)[0] or "application/octet-stream",
        key=key or name,
        on_click="ignore",
        type="tertiary" if quiet else "secondary",
    )


@show_part.register
def _(part: Section) -> None:
    st.html(markup.heading(part.title))
    if part.aside is None:
        _show_all(part)
        return
    aside, beside = st.columns([ASIDE, BESIDE], gap="medium")
    with aside:
        show_part(part.aside)
    with beside:
        _show_all(part)


def _show_all(section: Section) -> None:
    for part in section.parts:
        show_part(part)


@cache
def _css() -> str:
    return Path(__file__).with_name("screen.css").read_text(encoding="utf-8")

"""What a reader may choose on a page, each kept in the address."""

from functools import singledispatch

import streamlit as st

from analytics.pages.form import Search
from analytics.pages.page import Choice, TypedNumber
from analytics.render.digits import IN_DIGITS


def line_of(choice: Choice | TypedNumber | Search) -> str:
    """Which line of boxes it stands on: what is asked of one thing more (``length_m.2``) on a line of its own."""
    return choice.key.partition(".")[2]


@singledispatch
def choose(choice: object) -> None:
    """Ask for one choice."""
    raise TypeError(f"the screen cannot ask for {type(choice).__name__}")


@choose.register
def _(choice: Choice) -> None:
    words = list(choice.options.values())
    st.selectbox(
        choice.label,
        words,
        index=list(choice.options).index(choice.default),
        key=choice.key,
        bind="query-params",
        filter_mode=None,
    )


@choose.register
def _(entry: TypedNumber) -> None:
    """As text, which the page reads: a box for numbers drops a comma or a fraction's stroke, and ``0,4`` becomes 4."""
    shown = entry.shown()
    default = "" if shown.default is None else f"{shown.default:g}"
    with st.container(key=f"box-{entry.key}{IN_DIGITS if shown.unit == entry.unit else ''}"):
        st.text_input(
            f"{shown.label}, {shown.unit}" if shown.unit else shown.label,
            value=default,
            placeholder=default,
            key=entry.key,
            bind="query-params",
        )


@choose.register
def _(search: Search) -> None:
    st.text_input(search.label, key=search.key, bind="query-params")

"""What a reader may choose on a page, each kept in the address."""

from functools import singledispatch

import streamlit as st

from analytics.pages.form import Search
from analytics.pages.page import Choice, TypedNumber


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
    """Without its bounds: a box that has some keeps what is out of them to itself, and the page answers as before."""
    shown = entry.shown()
    st.number_input(
        f"{shown.label}, {shown.unit}" if shown.unit else shown.label,
        value=shown.default,
        step=shown.step,
        format="%g",
        key=entry.key,
        bind="query-params",
    )


@choose.register
def _(search: Search) -> None:
    st.text_input(search.label, key=search.key, bind="query-params")

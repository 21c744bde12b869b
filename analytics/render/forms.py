"""Forms on the screen. Whatever happens on the way in, what was typed stays until it is recorded."""

import logging
from datetime import date
from zlib import crc32

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.contract import units
from analytics.errors import LeakbackError
from analytics.pages.form import TODAY, Field, Fieldset, Form
from analytics.pages.page import Folded, three_figures
from analytics.render import markup
from analytics.render.digits import IN_DIGITS
from analytics.render.pressed import remember
from analytics.render.screen import JUST_DONE, UNFORESEEN, show_part

LOG = logging.getLogger("leakback")
FAILED = "This could not be recorded. What went wrong is in the log; what you typed is still here."
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
FOLD = "fold-"
"""Begins the key of what a phone folds away; the style sheet knows it."""
ACROSS = 3
"""Fields side by side, where there is room."""
SHORT_LIST = 12
"""A list this short needs no searching in it, which would bring up a phone's keyboard."""


@show_part.register
def _(part: Folded) -> None:
    with _phones_fold(part) if part.on_a_phone else st.expander(markup.label(part.title)):
        for inner in part.parts:
            show_part(inner)


def _phones_fold(part: Folded) -> DeltaGenerator:
    """A place that the style sheet folds away on a phone, beneath the words that open it."""
    place = st.container(key=f"{FOLD}{crc32(part.title.encode())}")  # the same at every rerun, so what is open stays so
    place.html(markup.fold(part.title))
    return place


@show_part.register
def _(part: Form) -> None:
    turn = f"turn-{part.key}"
    place = f"{part.key}-{st.session_state.get(turn, 0)}"
    with st.form(place, enter_to_submit=False, border=bool(part.fieldsets)):
        typed = {key: text for fieldset in part.fieldsets for key, text in _asked(fieldset, place).items()}
        if part.note:
            st.html(markup.note(part.note))
        if st.form_submit_button(part.verb, type="primary", on_click=remember, args=(part.key, part.needs)):
            _send(part, typed, turn)


def _send(part: Form, typed: dict[str, str], turn: str) -> None:
    """Hand on what was typed; once it is recorded the form starts afresh on the page built anew."""
    try:
        said = part.submit(typed)
    except LeakbackError as error:
        st.html(markup.refusal(str(error)))
    except UNFORESEEN:
        LOG.exception("form %s", part.key)
        st.html(markup.refusal(FAILED))
    else:
        st.session_state[JUST_DONE] = (said, part.opens(typed) if part.opens else "")
        st.session_state[turn] = st.session_state.get(turn, 0) + 1
        st.rerun()


def _asked(fieldset: Fieldset, place: str) -> dict[str, str]:
    """Show the fields and read what is in them, by the field's key."""
    if fieldset.title:
        st.html(markup.subheading(fieldset.title))
    typed = {}
    for first in range(0, len(fieldset.fields), ACROSS):
        row = fieldset.fields[first : first + ACROSS]
        for field, column in zip(row, st.columns(ACROSS), strict=False):
            with column:
                typed[field.key] = _read(field, f"{place}.{field.key}")
    return typed


def _read(field: Field, key: str) -> str:
    named, unit = f"{field.label[:1].upper()}{field.label[1:]}", units.shown_unit(field.unit)
    label = f"{named}, {unit}" if unit else named
    if field.kind == "day":
        start = TODAY if field.default == TODAY else date.fromisoformat(field.default) if field.default else None
        shown = _first_shown(key, field.default)
        chosen = st.date_input(label, start, FIRST_DAY, LAST_DAY, key=key, help=field.help or None, format="YYYY-MM-DD")
        day = chosen.isoformat() if isinstance(chosen, date) else ""
        return field.default if day == shown else day
    if field.kind == "choice" or field.options:
        return _chosen(field, label, key)
    filled = _in_readers_unit(field)
    key += IN_DIGITS if field.kind == "number" and unit == field.unit else ""
    shown = _first_shown(key, filled)
    text = st.text_input(label, filled, key=key, help=field.help or None).strip()
    return field.default if text == shown else units.with_unit(text, field.unit)


def _first_shown(key: str, filled: str) -> str:
    """What stood in the field of this key when it came up, for as long as it stays on the screen.

    Whoever leaves it there has not typed it: where somebody else has changed it since, it stays as they changed it.
    """
    if key not in st.session_state:  # it comes up now
        st.session_state[f"{key}-shown"] = filled
    return str(st.session_state[f"{key}-shown"])


def _in_readers_unit(field: Field) -> str:
    """What stands in the field at first: the value in the reader's unit, to three figures."""
    found = units.conversion(field.unit)
    return f"{three_figures(found.of(float(field.default))):g}" if found and field.default else field.default


def _chosen(field: Field, label: str, key: str) -> str:
    """A choice, or a text with suggestions; a value in force that is not among the options is one more of them."""
    options = dict(field.options)
    if field.default:
        options.setdefault(field.default, field.default)
    values = list(options)
    shown = _first_shown(key, field.default)
    chosen = st.selectbox(
        label,
        values,
        index=values.index(field.default) if field.default in options else None,
        format_func=lambda value: options.get(value, value),
        key=key,
        help=field.help or None,
        placeholder="",
        accept_new_options=field.kind == "text",
        filter_mode="contains" if field.kind == "text" or len(values) > SHORT_LIST else None,
    )
    return field.default if (chosen or "") == shown else chosen or ""

"""A button pressed on a form that the page, built anew, no longer offers: said, never dropped without a word.

The role may have been taken back meanwhile, or somebody else have closed the job.
"""

import streamlit as st

from analytics.answers.standing import allowed, present, refusal
from analytics.contract.roles import Act
from analytics.pages.offers import offers
from analytics.pages.page import Page
from analytics.render import markup

PRESSED = "pressed"
GONE = "Nothing was recorded: the page has changed meanwhile, and no longer asks for this. It is shown as it is now."


def remember(key: str, needs: Act | None) -> None:
    """Keep which form's button was pressed; called before the page is built anew."""
    st.session_state[PRESSED] = (key, needs)


def say_where_gone(page: Page) -> None:
    """Say that nothing was done where the form that was pressed is not on the page any more."""
    pressed: tuple[str, Act | None] | None = st.session_state.pop(PRESSED, None)
    if pressed is None:
        return
    key, needs = pressed
    if key not in {part.key for part in offers(page.parts)}:
        st.html(markup.refusal(GONE if allowed(needs) else refusal(present(), needs)))

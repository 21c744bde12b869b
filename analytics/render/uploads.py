"""Files brought on the screen: shown first, put in only at the button. They stay in memory."""

import hashlib
import logging
from collections.abc import Callable
from typing import TypeVar

import streamlit as st
from streamlit.errors import StreamlitAPIException

from analytics.errors import LeakbackError, UnreadableFileError
from analytics.intake.limits import MOST_UPLOAD_MB, size_words
from analytics.pages.upload import Files, Looked, Upload
from analytics.render import markup
from analytics.render.pressed import remember
from analytics.render.screen import JUST_DONE, UNFORESEEN, show_part

LOG = logging.getLogger("leakback")
FAILED = "This could not be read. What went wrong is in the log; nothing was changed."
STEPS = ("Choose your files", "See what becomes of them", "Load them")
READING = "Reading your files and checking every row …"
LOADING = "Loading …"
LOOK_AGAIN = "Look again"
TEXT_HEIGHT = 420
Answer = TypeVar("Answer")


@show_part.register
def _(part: Upload) -> None:
    turn = f"turn-{part.key}"
    step = st.empty()
    step.html(markup.progress(STEPS, 1))
    files = _tried(lambda: _brought(part, f"{part.key}-{st.session_state.get(turn, 0)}"), READING)
    if not files:
        return
    place = f"{part.key}-{_digest(files)}"
    text = st.session_state.get(f"{place}-text", "")
    step.html(markup.progress(STEPS, 2))
    looked = _looked(part, files, text, place)
    if looked is None:
        return
    if looked.ready:
        step.html(markup.progress(STEPS, 3))
    for shown in looked.parts:
        show_part(shown)
    if looked.text:
        _mend(part, looked.text, place)
    if looked.ready and _approved(part, place):
        said = _tried(lambda: part.approve(files, text or looked.text), LOADING)
        if said is not None:
            st.session_state[JUST_DONE] = (said, "")
            st.session_state[turn] = st.session_state.get(turn, 0) + 1
            st.rerun()


def _approved(part: Upload, place: str) -> bool:
    return st.button(part.verb, type="primary", key=f"{place}-go", on_click=remember, args=(part.key, part.needs))


def _brought(part: Upload, key: str) -> Files:
    """The files brought; LeakbackError where they are of another kind, or too large together."""
    taken = [ending.removeprefix(".") for ending in part.endings]
    try:
        found = st.file_uploader(
            part.label, type=taken, accept_multiple_files=True, key=key, max_upload_size=MOST_UPLOAD_MB
        )
    except StreamlitAPIException as error:  # a kind that no browser would have sent
        raise UnreadableFileError(f"not one of the kinds taken here, which are {', '.join(taken)}") from error
    if (size := sum(one.size for one in found)) > MOST_UPLOAD_MB * 2**20:
        raise UnreadableFileError(
            f"{size_words(size)} are more than {MOST_UPLOAD_MB} MB at once: bring them one by one, or load them where "
            "they lie with leakback load"
        )
    return tuple((one.name, one.getvalue()) for one in found)


def _looked(part: Upload, files: Files, text: str, place: str) -> Looked | None:
    """What would become of the files, worked out once for the same files and text."""
    kept = st.session_state.get(f"{place}-looked")
    if kept is not None and kept[0] == text:
        found: Looked = kept[1]
        return found
    looked = _tried(lambda: part.look(files, text), READING)
    if looked is not None:
        st.session_state[f"{place}-looked"] = (text, looked)
    return looked


def _mend(part: Upload, text: str, place: str) -> None:
    """The text to be mended, folded away; looked at again only when asked."""
    with st.expander(markup.label(part.text_label)), st.form(f"{place}-form", border=False):
        mended = st.text_area(part.text_label, text, height=TEXT_HEIGHT, label_visibility="collapsed")
        if st.form_submit_button(LOOK_AGAIN):
            st.session_state[f"{place}-text"] = mended
            st.rerun()


def _tried(act: Callable[[], Answer], meanwhile: str) -> Answer | None:
    """What ``act`` gives, ``meanwhile`` shown as it works; where it fails, the reason is shown and None given."""
    try:
        with st.spinner(meanwhile):
            return act()
    except LeakbackError as error:
        st.html(markup.refusal(str(error)))
    except UNFORESEEN:
        LOG.exception("upload")
        st.html(markup.refusal(FAILED))
    return None


def _digest(files: Files) -> str:
    whole = hashlib.sha256()
    for name, content in files:
        whole.update(name.encode() + b"\0" + content)
    return whole.hexdigest()[:16]

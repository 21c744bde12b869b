"""Files brought on the screen: of the kinds taken, and no more than a memory holds."""

from dataclasses import dataclass
from typing import Any

import pytest
import streamlit as st
from streamlit.errors import StreamlitAPIException

from analytics.errors import UnreadableFileError
from analytics.intake.limits import MOST_UPLOAD_MB
from analytics.pages.upload import Looked, Upload
from analytics.render import uploads

PLACE = Upload("bring", "Your files", (".csv", ".xlsx"), "map", "Load", lambda *_: Looked(()), lambda *_: "")


@dataclass
class Brought:
    name: str
    size: int

    def getvalue(self) -> bytes:
        return b"x"


def given(monkeypatch: pytest.MonkeyPatch, *files: Brought) -> dict[str, Any]:
    """The browser brings these files; what it was told to take."""
    told: dict[str, Any] = {}

    def uploader(label: str, **said: object) -> list[Brought]:
        told.update(said, label=label)
        return list(files)

    monkeypatch.setattr(st, "file_uploader", uploader)
    return told


def test_the_browser_is_told_what_is_taken_and_how_much(monkeypatch: pytest.MonkeyPatch) -> None:
    told = given(monkeypatch, Brought("jobs.csv", 1))
    assert uploads._brought(PLACE, "k") == (("jobs.csv", b"x"),)
    assert told["type"] == ["csv", "xlsx"]
    assert told["max_upload_size"] == MOST_UPLOAD_MB


def test_too_much_at_once_is_refused_before_it_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    half = MOST_UPLOAD_MB * 2**19
    given(monkeypatch, Brought("a.csv", half), Brought("b.csv", half))
    assert len(uploads._brought(PLACE, "k")) == 2
    given(monkeypatch, Brought("a.csv", half), Brought("b.csv", half + 2**20))
    with pytest.raises(
        UnreadableFileError, match=rf"^{MOST_UPLOAD_MB + 1} MB are more than {MOST_UPLOAD_MB} MB at once"
    ):
        uploads._brought(PLACE, "k")


def test_another_kind_that_was_forced_in_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def uploader(*_: object, **__: object) -> None:
        raise StreamlitAPIException("Invalid file extension: .exe")

    monkeypatch.setattr(st, "file_uploader", uploader)
    with pytest.raises(UnreadableFileError, match="not one of the kinds taken here, which are csv, xlsx"):
        uploads._brought(PLACE, "k")

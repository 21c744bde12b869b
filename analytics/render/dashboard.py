"""The dashboard: the pages of one store, each worked out once for the records and choices it shows."""

import os
from functools import lru_cache, partial
from pathlib import Path

from analytics.answers.records import Records, display_of, policy_path
from analytics.contract.units import displayed
from analytics.errors import RecordsMovedError
from analytics.pages import papers
from analytics.pages.page import Page, Question, Said
from analytics.pages.questions import PAGES
from analytics.render import forms, uploads  # noqa: F401 - show forms and uploads, beside the screen's own parts
from analytics.render.screen import run
from analytics.store import Store

STORE_VARIABLE = "LEAKBACK_STORE"
KEPT_PAGES = 128
Signature = tuple[tuple[int, int, int], ...]


def main() -> None:
    """Show the store that the environment names."""
    store = Path(os.environ.get(STORE_VARIABLE, "leakback.duckdb"))
    questions = [Question(path, title, partial(page, store, path)) for path, (title, _) in PAGES.items()]
    with displayed(display_of(store)):
        run(questions, about=_about(store))


def page(store: Path, path: str, said: Said) -> Page:
    """The page at ``path`` for what the reader has chosen, from memory where nothing has changed.

    Built once more, with writers kept waiting, where the records changed between two of its questions: a page never
    shows two states of them.
    """
    choices = tuple(sorted(said.items()))
    try:
        return _built(store, signature(store), path, choices)
    except RecordsMovedError:
        with Store(store).turns.reading():
            return _built(store, signature(store), path, choices)


def signature(store: Path) -> Signature:
    """What changes whenever the store or its policy does. Never opens the file: that could drop another's lock."""
    seen = (path.stat() for path in (store, policy_path(store)) if path.exists())
    return tuple((stat.st_mtime_ns, stat.st_size, stat.st_ino) for stat in seen)


@lru_cache(maxsize=KEPT_PAGES)
def _built(store: Path, seen: Signature, path: str, said: tuple[tuple[str, str], ...]) -> Page:
    del seen
    _, build = PAGES[path]
    return build(Records.of(store), dict(said))


def _about(store: Path) -> str:
    return _about_seen(store, signature(store)) if store.exists() else ""


@lru_cache(maxsize=8)
def _about_seen(store: Path, seen: Signature) -> str:
    del seen
    return papers.about(Records.of(store))

"""The dashboard: the pages of one store, each worked out once for the records, the choices and the role it shows.

Who asks for a page that is being worked out for another waits for that one.
"""

import os
from contextlib import suppress
from functools import partial
from pathlib import Path
from threading import Condition

import polars as pl
from cachetools import LRUCache, cached

from analytics.answers import modelling
from analytics.answers.records import Records, display_of, policy_path
from analytics.answers.standing import HERE, Person, a_role, asking
from analytics.contract.places import DEFAULT_STORE, STORE_VARIABLE
from analytics.contract.roles import RIGHTS, ROLES, Role
from analytics.contract.units import displayed
from analytics.errors import LeakbackError, RecordsMovedError
from analytics.pages import papers
from analytics.pages.page import Page, Question, Said
from analytics.pages.questions import PAGES
from analytics.pages.seen_by import asked_by, seen_by
from analytics.render import forms, signing_in, uploads  # noqa: F401 - show forms and uploads, beside the screen's parts
from analytics.render.screen import dress, refuse, run
from analytics.store import Kept, Store
from analytics.store.engine import MEBIBYTE

KEPT_PAGES = 256
KEPT_RECORDS = 1
"""With what was worked out of them: a state that is gone does not come back."""
ATTEMPTS = 3
"""To build a page while others may write."""
MOST_AHEAD_BYTES = 16 * MEBIBYTE
"""Of a larger store, over 200 000 cracks, a page may take long or much memory, and is worked out for who asks only."""
Signature = tuple[tuple[int, int, int], ...]


def main() -> None:
    """Show the store that the environment names, to whoever may see it."""
    store = _store()
    try:
        person = signing_in.person(store)
    except LeakbackError as error:
        dress()
        refuse(error)
        return
    if person is not None:
        _show(store, person)


def work_ahead() -> None:
    """Work the first page out before anybody asks for it, as the owner sees it; who asks meanwhile waits for it.

    Only where a model stands: else whoever asks first fits one. What cannot be worked out is said to who asks.
    """
    store = _store()
    with suppress(LeakbackError), displayed(display_of(store)), asking(HERE):
        if _stands(store):
            page(store, next(iter(PAGES)), ROLES[0], {})
            _about(store)


def _store() -> Path:
    return Path(os.environ.get(STORE_VARIABLE, DEFAULT_STORE))


def _show(store: Path, person: Person) -> None:
    if (role := person.role) is None:
        return
    opens, state = person.rights.opens, partial(signature, store)
    questions = [Question(path, title, partial(page, store, path, role), state) for path, (title, _) in PAGES.items()]
    with asking(person), displayed(display_of(store)):
        ahead = [each for each in questions if _quick(store) and opens(each.path)]
        run(questions, _about(store), opens, partial(signing_in.greet, person), ahead=ahead)


def _quick(store: Path) -> bool:
    """Whether any page is built quickly and changes nothing: of a small store, whose model stands."""
    return _stands(store) and store.stat().st_size <= MOST_AHEAD_BYTES


def _stands(store: Path) -> bool:
    return store.exists() and _stands_seen(store, signature(store))


@cached(LRUCache(KEPT_RECORDS), condition=Condition())
def _stands_seen(store: Path, seen: Signature) -> bool:
    """Whether no page has to fit a model."""
    with suppress(LeakbackError):  # said to who asks for a page
        return modelling.stands(_records(store, seen)[0])
    return False


def page(store: Path, path: str, role: Role, said: Said) -> Page:
    """The page at ``path`` as ``role`` sees it for what the reader has chosen, from memory where nothing has changed.

    Built anew where the records changed between two of its questions, for a page never shows two states of them; the
    last time with writers kept waiting, not sooner: another reader may be about to keep a model this page waits for.
    """
    if not RIGHTS[role].opens(path):
        return _closed(path, role)
    choices = tuple(sorted(asked_by(RIGHTS[role], said).items()))
    for _ in range(ATTEMPTS):
        with suppress(RecordsMovedError):
            return _built(store, signature(store), path, role, choices)
        _records.cache_clear()
    with Store(store).turns.reading():
        return _built(store, signature(store), path, role, choices)


def signature(store: Path) -> Signature:
    """What changes whenever the store or its policy does. Never opens the file: that could drop another's lock."""
    seen = (path.stat() for path in (store, policy_path(store)) if path.exists())
    return tuple((stat.st_mtime_ns, stat.st_size, stat.st_ino) for stat in seen)


@cached(LRUCache(KEPT_PAGES), condition=Condition())
def _built(store: Path, seen: Signature, path: str, role: Role, said: tuple[tuple[str, str], ...]) -> Page:
    _, build = PAGES[path]
    records, crews = _records(store, seen)
    with records.store.reading(), displayed(records.policy.display):
        return seen_by(RIGHTS[role], build(records, dict(said)), crews)


@cached(LRUCache(KEPT_RECORDS), condition=Condition())
def _records(store: Path, seen: Signature) -> tuple[Records, pl.Series]:
    """The records, and the crews named in them, until they change."""
    del seen
    records = Records.of(store, kept=Kept())
    names = records.ask("known_names")
    return records, names.filter(names["column_name"] == "crew_id")["name"]


def _closed(path: str, role: Role) -> Page:
    """What stands in the place of a page that the role may not open."""
    title, _ = PAGES[path]
    others = " or ".join(a_role(other) for other in ROLES if RIGHTS[other].opens(path))
    return Page(f"{title}: not open to {a_role(role)}.", wanting=f"Ask {others}.")


def _about(store: Path) -> str:
    """The quiet line; none where the records or the policy cannot be read, which the page itself says."""
    with suppress(LeakbackError):
        return _about_seen(store, signature(store)) if store.exists() else ""
    return ""


@cached(LRUCache(KEPT_RECORDS), condition=Condition())
def _about_seen(store: Path, seen: Signature) -> str:
    return papers.about(_records(store, seen)[0])

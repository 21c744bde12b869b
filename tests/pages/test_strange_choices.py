"""Addresses and forms with anything at all in them: a page, or one sentence; never another error.

``LEAKBACK_STRANGE`` sets how many; few by default, so that the suite stays quick.
"""

import csv
import os
import re
import shutil
from collections.abc import Callable, Mapping
from io import StringIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.demo import TRUTH, world
from analytics.errors import LeakbackError
from analytics.pages.form import Form
from analytics.pages.questions import PAGES
from analytics.pages.upload import Upload
from tests.offered import job_of, offered
from tests.strange import words
from tests.truth.stores import records_of

Button = tuple[str, str, Form | Upload]
CASES = int(os.environ.get("LEAKBACK_STRANGE", "12"))
LONGEST_SENTENCE = 12_000
QUICK = settings(
    max_examples=CASES,
    deadline=None,
    derandomize="LEAKBACK_STRANGE" not in os.environ,  # a large run tries others than the one before
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Records:
    """A small invented business."""
    tables = world(TRUTH, seed=7, n_jobs=20).tables
    return records_of(tables, tmp_path_factory.mktemp("strange"), tables)


@pytest.fixture(scope="module")
def asked(records: Records) -> Mapping[str, list[str]]:
    """What each page may be asked for, by its path: the keys of its choices, and the two that every page is handed."""
    with records.store.reading():
        built = {path: build(records, {}) for path, (_, build) in PAGES.items()}
    return {path: ["job_id", "crew_id", *(choice.key for choice in page.choices)] for path, page in built.items()}


@pytest.fixture(scope="module")
def jobs(records: Records) -> list[str]:
    return records.ask("planned_cracks")["job_id"].to_list()


@pytest.fixture(scope="module")
def buttons(records: Records) -> list[Button]:
    return list(offered(records))


@pytest.fixture(scope="module")
def put_back(records: Records) -> Callable[[], None]:
    """Puts the store back as it was before any form was sent."""
    path = records.store.path
    kept = shutil.copy(path, path.with_suffix(".kept"))

    def put() -> None:
        Path(shutil.copy(kept, path.with_suffix(".again"))).replace(path)

    return put


@QUICK
@given(data=st.data())
def test_any_address_gives_a_page_or_a_sentence(
    records: Records, asked: Mapping[str, list[str]], jobs: list[str], data: st.DataObject
) -> None:
    path = data.draw(st.sampled_from(list(PAGES)))
    said = data.draw(st.dictionaries(st.sampled_from(asked[path]), words, max_size=4))
    if data.draw(st.booleans()):
        said["job_id"] = data.draw(st.sampled_from(jobs))
    shows(records, path, said)


@QUICK
@given(data=st.data())
def test_any_form_takes_anything_and_shows_it_or_says_what_is_wrong_and_changes_nothing(
    records: Records, buttons: list[Button], put_back: Callable[[], None], data: st.DataObject
) -> None:
    path, status, part = data.draw(st.sampled_from(buttons))
    before = seen(records)
    job = job_of(records.store, status)
    said = answered(lambda: sent(part, data))
    assert said
    if seen(records) != before:
        assert not isinstance(said, LeakbackError)
        shows(Records.of(records.store.path), path, {"job_id": job} if job else {})
        put_back()


def sent(part: Form | Upload, data: st.DataObject) -> object:
    """What comes of a form filled in anyhow, or of a file of such cells with its column map mended anyhow."""
    if isinstance(part, Form):
        typed = {each.key: data.draw(st.sampled_from([each.default, *each.options]) | words) for each in part.fields}
        return part.submit(typed)
    table = data.draw(st.sampled_from(list(TABLES)))
    columns = data.draw(st.lists(st.sampled_from(TABLES[table].column_names()) | words, min_size=1, unique=True))
    rows = data.draw(st.lists(st.lists(words, min_size=len(columns), max_size=len(columns)), max_size=3))
    out = StringIO()
    csv.writer(out).writerows([columns, *rows])
    name = data.draw(st.sampled_from([f"{table}.csv", "walls.csv"]) | words)
    files = ((name, out.getvalue().encode()),)
    looked = part.look(files, "")
    text = data.draw(st.just(looked.text) | mended(looked.text))
    return part.look(files, text) if data.draw(st.booleans()) else part.approve(files, text)


def mended(text: str) -> st.SearchStrategy[str]:
    """A text with one of its words put otherwise."""
    known = re.findall(r"[^\s\"]+", text) or [""]
    return st.builds(lambda old, new: text.replace(old, new, 1), st.sampled_from(known), words)


def seen(records: Records) -> tuple[int, int, int]:
    """What any write to the store would change of its file."""
    stat = records.store.path.stat()
    return stat.st_ino, stat.st_mtime_ns, stat.st_size


def shows(records: Records, path: str, said: Mapping[str, str]) -> None:
    """The page is built, or one sentence says why not."""
    _, build = PAGES[path]
    with records.store.reading():
        assert answered(lambda: build(records, said).answer)


def answered(act: Callable[[], object]) -> object:
    """What an act gives, or the one sentence that it is refused with."""
    try:
        return act()
    except LeakbackError as error:
        is_one_sentence = "\n" not in str(error).strip() and 0 < len(str(error)) < LONGEST_SENTENCE
        return error if is_one_sentence else None

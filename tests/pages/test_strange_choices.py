"""Addresses and forms with anything at all in them: a page, or one sentence; never another error.

``LEAKBACK_STRANGE`` sets how many; few by default, so that the suite stays quick.
"""

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.answers.records import Records
from analytics.demo import TRUTH, world
from analytics.errors import LeakbackError
from analytics.pages.form import Form
from analytics.pages.page import Folded, Page, Part, Section
from analytics.pages.questions import PAGES
from tests.strange import words
from tests.truth.stores import records_of

PAGES_ASKED = int(os.environ.get("LEAKBACK_STRANGE", "12"))
QUICK = settings(max_examples=PAGES_ASKED, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small invented business."""
    tables = world(TRUTH, seed=7, n_jobs=60).tables
    return records_of(tables, tmp_path_factory.mktemp("strange"), tables).store.path


def forms(parts: tuple[Part, ...]) -> Iterator[Form]:
    for part in parts:
        if isinstance(part, Form):
            yield part
        elif isinstance(part, Section | Folded):
            yield from forms(part.parts)


def asked(store: Path, data: st.DataObject) -> Page | None:
    """A page with some of its own choices filled in anyhow; None where a sentence is the answer."""
    path = data.draw(st.sampled_from(list(PAGES)))
    _, build = PAGES[path]
    records = Records.of(store)
    jobs = records.ask("planned_cracks")["job_id"].to_list()
    with suppress(LeakbackError):
        keys = [choice.key for choice in build(records, {}).choices]
        place = st.fixed_dictionaries({}, optional={"job_id": st.sampled_from(jobs) | words, "crew_id": words})
        said = data.draw(place)
        if keys:
            said |= data.draw(st.dictionaries(st.sampled_from(keys), words, max_size=4))
        return build(records, said)
    return None


@QUICK
@given(data=st.data())
def test_any_address_gives_a_page_or_a_sentence(store: Path, data: st.DataObject) -> None:
    page = asked(store, data)
    assert page is None or page.answer


@QUICK
@given(data=st.data())
def test_any_form_takes_anything_or_says_what_is_wrong(store: Path, data: st.DataObject) -> None:
    page = asked(store, data)
    found = list(forms(page.parts)) if page else []
    if not found:
        return
    form = data.draw(st.sampled_from(found))
    typed = {field.key: data.draw(st.sampled_from([field.default, *field.options]) | words) for field in form.fields}
    with suppress(LeakbackError):
        assert form.submit(typed)

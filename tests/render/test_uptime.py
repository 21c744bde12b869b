"""A dashboard that stays up: page after page, with choices never seen before, in memory that stays as it is.

Each reader has one page open and chooses again and again, then leaves, and another comes.

``LEAKBACK_RERUNS`` sets how many; few by default, so that the suite stays quick.
"""

import os
from functools import partial
from pathlib import Path
from random import Random

import pytest
from streamlit.testing.v1 import AppTest

from analytics.demo import TRUTH, world
from analytics.pages.page import Question
from analytics.pages.questions import PAGES
from analytics.render import dashboard
from tests.truth.stores import records_of

RERUNS = int(os.environ.get("LEAKBACK_RERUNS", "28"))
PATIENCE_SECONDS = 120
CHOICES_OF_A_READER = 40
WARM = 0.5
"""The share of the reruns after which all that is kept is there: modules, the pages in memory."""
MOST_GROWTH = 0.15


def _answer(question: "Question") -> None:
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.answer(question)


def resident_bytes() -> int:
    """Memory this process holds now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read where the system tells it")
def test_reruns_leave_nothing_behind(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    tables = world(TRUTH, seed=7, n_jobs=60).tables
    store = records_of(tables, tmp_path, tables).store.path
    random = Random(11)  # noqa: S311 - a seed for tests
    paths, readers, warm = list(PAGES), {}, 0
    for rerun in range(RERUNS):
        path = paths[rerun % len(paths)]
        if rerun // len(paths) % CHOICES_OF_A_READER == 0:
            question = Question(path, path, partial(dashboard.page, store, path, "owner"))
            readers[path] = AppTest.from_function(_answer, args=(question,), default_timeout=PATIENCE_SECONDS)
        app = readers[path]
        app.query_params["months"] = random.choice(["12 months", "24 months", "60 months"])  # as a box puts it
        app.query_params["seen"] = str(rerun)
        app.run()
        assert not app.exception
        assert not [said for said in caplog.records if said.name == "leakback"]
        if rerun == int(WARM * RERUNS):
            warm = resident_bytes()
    assert resident_bytes() < warm * (1 + MOST_GROWTH)

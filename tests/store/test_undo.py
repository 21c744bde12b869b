from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers.loading import Loaded, rejects, undo
from analytics.answers.records import Records
from analytics.errors import LeakbackError
from tests.histories import CRACK, DONE_JOB


def test_undo_takes_the_last_load_back_and_only_that(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [CRACK]})
    before = Records.of(store_path).ask("follow_up")
    load_tables({"jobs": [{**DONE_JOB, "crew_id": "C09"}, {"job_id": "J-2", "status": "huh"}]}, "second")
    assert Records.of(store_path).ask("follow_up")["crew_id"].to_list() == ["C09"]
    assert rejects(Records.of(store_path)).height == 1
    undone = undo(store_path)
    assert undone.batch == 2
    assert undone.tables["jobs"] == 1
    assert Records.of(store_path).ask("follow_up").equals(before)
    assert rejects(Records.of(store_path)).is_empty()


def test_nothing_to_undo_is_said(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB]})
    undo(store_path)
    with pytest.raises(LeakbackError, match="nothing to undo"):
        undo(store_path)

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

from analytics.answers.loading import Loaded
from analytics.answers.records import Records
from analytics.store import RememberingStore
from analytics.store.remembering import MOST_BYTES
from tests.histories import CRACK, DONE_JOB

ONE = {"jobs": [DONE_JOB], "cracks": [CRACK]}
TWO = {"jobs": [DONE_JOB], "cracks": [CRACK, CRACK | {"crack_id": "K-2"}]}


def remembered(path: Path) -> tuple[Records, RememberingStore]:
    records = Records.of(path, kind=RememberingStore)
    assert isinstance(records.store, RememberingStore)
    return records, records.store


def test_a_question_asked_again_is_answered_from_memory(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables(ONE)
    records, store = remembered(store_path)
    first = records.ask("follow_up")
    store_path.unlink()
    assert records.ask("follow_up").equals(first)
    assert 0 < store.answers.currsize < MOST_BYTES


def test_as_of_another_day_is_another_question(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables(ONE)
    records, store = remembered(store_path)
    now = records.ask("follow_up")
    later = replace(records.ask, as_of=date(2025, 1, 15))("follow_up")
    assert later["watched_days"][0] > now["watched_days"][0]
    assert len(store.answers) == 2


def test_records_that_changed_are_asked_anew(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables(ONE)
    assert remembered(store_path)[0].ask("follow_up").height == 1
    load_tables(TWO, "more")
    assert remembered(store_path)[0].ask("follow_up").height == 2


def test_an_answer_too_large_is_not_kept(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables(ONE)
    records, store = remembered(store_path)
    store.answers = type(store.answers)(1, store.answers.getsizeof)
    assert records.ask("follow_up").height == 1
    assert store.answers.currsize == 0

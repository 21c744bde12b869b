"""Answers kept for a door that asks again: worked out once, the longest unused forgotten first."""

from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from threading import Barrier

import polars as pl

from analytics.answers.flagging import flags
from analytics.answers.records import Records
from analytics.answers.reserving import reserve
from analytics.store import Kept


def test_an_answer_is_worked_out_once_whoever_asks_meanwhile() -> None:
    kept, together, worked = Kept(), Barrier(4), []

    def work_out() -> str:
        worked.append(1)
        return "answer"

    def asked(_: int) -> str:
        together.wait()
        return kept.answer("key", work_out)

    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(asked, range(4))) == {"answer"}
    assert worked == [1]


def test_frames_are_kept_as_far_as_there_is_room() -> None:
    frame = pl.DataFrame({"number": range(100)})
    kept, asked = Kept(most_bytes=2 * int(frame.estimated_size())), []

    def ask(name: str) -> pl.DataFrame:
        asked.append(name)
        return frame

    for name in ("one", "two", "one", "three", "one", "two"):
        kept.frame(name, partial(ask, name))
    assert asked == ["one", "two", "three", "two"]
    assert Kept(most_bytes=1).frame("large", lambda: frame) is frame


def test_kept_answers_are_those_of_records_that_keep_nothing(demo_store: Path) -> None:
    keeping, plain = Records.of(demo_store, kept=Kept()), Records.of(demo_store)
    assert flags(keeping) is flags(keeping)
    assert flags(keeping).answer() == flags(plain).answer()
    assert flags(keeping, months=12).answer() == flags(plain, months=12).answer()
    for level in (0.5, 0.9):
        assert reserve(keeping, level=level).answer() == reserve(plain, level=level).answer()


def test_a_failure_is_not_kept() -> None:
    kept, tries = Kept(), []

    def work_out() -> int:
        tries.append(1)
        return 1 // (len(tries) - 1)

    for _ in range(2):
        try:
            kept.answer("key", work_out)
        except ZeroDivisionError:
            continue
    assert kept.answer("key", work_out) == 1
    assert len(tries) == 2

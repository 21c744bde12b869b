"""The page of the warranty reserve: the sentence, the picture, when, by year of work, and why it moved."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers.records import Records
from analytics.pages import reserve
from analytics.pages.page import Chart, Figures, Page, Section, Table
from tests.histories import CRACK, DONE_JOB

Opener = Callable[..., Records]


@pytest.fixture(scope="module")
def demo(demo_store: Path) -> Page:
    return reserve.build(Records.of(demo_store), {})


def test_it_opens_with_the_number_its_interval_and_its_cost(demo: Page) -> None:
    assert "cracks under warranty" in demo.answer
    assert "are still expected to leak back (90\u202f% interval)" in demo.answer
    assert "putting them right is expected to cost" in demo.answer
    assert demo.answer.count(" to ") >= 3


def test_picture_figures_and_tables_follow(demo: Page) -> None:
    assert [type(part) for part in demo.parts[:2]] == [Chart, Figures]
    titles = [part.title for part in demo.parts if isinstance(part, Section)]
    assert titles[:2] == ["When it will be needed", "By year of work"]
    assert titles[2].startswith("How it moved since")


def test_the_quarters_listed_and_the_rest_add_up_to_the_reserve(demo: Page) -> None:
    section = next(part for part in demo.parts if isinstance(part, Section))
    (table,) = section.parts
    assert isinstance(table, Table)
    begun = "2026 Q4 is counted from 1 November 2026 on."
    told = re.fullmatch(rf"Not shown: \d+ more quarters\. .* In those, ([\d.]+) leak-backs\. {begun}", table.note)
    assert told is not None
    figure = next(part for part in demo.parts if isinstance(part, Figures)).rows[0]
    assert float(table.listed["expected_leak_backs"].sum()) + float(told[1]) == pytest.approx(figure.value, abs=0.06)


def test_the_moves_begin_and_end_with_what_is_set_aside(demo: Page) -> None:
    section = [part for part in demo.parts if isinstance(part, Section)][2]
    (table,) = section.parts
    assert isinstance(table, Table)
    amounts = table.rows["leak_backs"].to_list()
    assert sum(amounts[:-1]) == pytest.approx(amounts[-1])
    assert table.rows["reason"].to_list()[-1] == "set aside now"


def test_the_reader_chooses_the_level(demo_store: Path, demo: Page) -> None:
    half = reserve.build(Records.of(demo_store), {"level": "0.5"})
    assert "(50\u202f% interval)" in half.answer
    assert half.answer != demo.answer


def test_too_little_history_says_what_it_would_take(records_of: Opener) -> None:
    page = reserve.build(records_of({"jobs": [DONE_JOB], "cracks": [CRACK]}), {})
    assert page.answer == "Nothing can be set aside by numbers yet."
    assert "50" in page.wanting

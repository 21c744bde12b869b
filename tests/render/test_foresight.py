"""What a reader may choose next is worked out beforehand, and only while nobody waits for a page."""

from contextvars import ContextVar
from functools import partial
from threading import Event, Thread

import pytest

from analytics.pages.page import Choice, Page, Said
from analytics.render import foresight
from analytics.render.foresight import MOST_OPTIONS, Foresight, next_choices

PATIENCE_SECONDS = 20
MONTHS = Choice("months", "Within", {"12": "12 months", "24": "24 months"}, "24")
BY = Choice("by", "Compare by", {"resin": "resin", "season": "season of the repair", "crew": "crew"}, "resin")
MANY = Choice("week", "Week", {str(week): f"week {week}" for week in range(MOST_OPTIONS + 1)}, "0")
YEAR = {"months": "12 months"}
BY_SEASON = {"by": "season of the repair"}
READER = ContextVar("READER", default="nobody")


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresight, "QUIET_SECONDS", 0.01)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({}, [YEAR, BY_SEASON, {"by": "crew"}]),
        (
            YEAR | {"name": "C03"},
            [{"name": "C03"}, YEAR | {"name": "C03"} | BY_SEASON, YEAR | {"name": "C03", "by": "crew"}],
        ),
    ],
)
def test_each_choice_is_changed_on_its_own_and_a_default_is_left_out(said: Said, told: list[Said]) -> None:
    assert list(next_choices(Page("", choices=(MONTHS, BY, MANY)), said)) == told


def test_what_is_told_is_what_the_choice_reads() -> None:
    page = Page("", choices=(MONTHS, BY))
    read = {(MONTHS.of(told), BY.of(told)) for told in next_choices(page, YEAR)}
    assert read == {("24", "resin"), ("12", "season"), ("12", "crew")}


def test_nothing_is_taken_before_it_is_started() -> None:
    done, idle = Event(), Foresight()
    idle.then([done.set])
    idle.start()
    marker = Event()
    idle.then([marker.set])
    assert marker.wait(PATIENCE_SECONDS)
    assert not done.is_set()


def test_tasks_are_done_in_turn_for_the_reader_and_one_that_fails_ends_nothing() -> None:
    done, finished, works = [], Event(), Foresight()
    works.start()
    READER.set("owner")
    works.then([partial(int, "no number"), lambda: done.append(READER.get()), finished.set])
    READER.set("somebody else")
    assert finished.wait(PATIENCE_SECONDS)
    assert done == ["owner"]


def test_who_waits_for_a_page_is_first_and_what_was_left_is_forgotten() -> None:
    begun, go_on, left, after, works = Event(), Event(), Event(), Event(), Foresight()

    def long() -> None:
        begun.set()
        go_on.wait(PATIENCE_SECONDS)

    works.start()
    works.then([long, left.set])
    assert begun.wait(PATIENCE_SECONDS)
    with works.waited_for():
        works.then([after.set])
        go_on.set()
        assert not after.wait(0.2)
    assert after.wait(PATIENCE_SECONDS)
    assert not left.is_set()


def test_a_rest_ends_when_somebody_waits_for_a_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresight, "REST_SECONDS", PATIENCE_SECONDS)
    begun, left, after, works = Event(), Event(), Event(), Foresight()
    works.start()
    works.then([begun.set, works.rest, left.set])
    assert begun.wait(PATIENCE_SECONDS)
    assert not left.wait(0.2)
    with works.waited_for():
        works.then([after.set])
    assert after.wait(PATIENCE_SECONDS / 2)
    assert not left.is_set()


def test_after_a_rest_the_next_task_is_done_and_the_end_waits_for_no_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresight, "REST_SECONDS", 0.05)
    done, begun, works = Event(), Event(), Foresight()
    works.start()
    works.then([works.rest, done.set])
    assert done.wait(PATIENCE_SECONDS)
    monkeypatch.setattr(foresight, "REST_SECONDS", 4 * PATIENCE_SECONDS)
    monkeypatch.setattr(foresight, "LAST_SECONDS", PATIENCE_SECONDS)
    works.then([begun.set, works.rest])
    assert begun.wait(PATIENCE_SECONDS)
    ending = Thread(target=works.stop)
    ending.start()
    ending.join(PATIENCE_SECONDS / 2)
    assert not ending.is_alive()


def test_one_look_sets_no_more_going_than_a_few_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foresight, "MOST_CHANGED", 2)
    assert list(next_choices(Page("", choices=(MONTHS, BY)), {})) == [YEAR, BY_SEASON]


def test_one_look_sets_no_more_going_than_a_few_seconds_do(monkeypatch: pytest.MonkeyPatch) -> None:
    works = Foresight()
    works.start()
    monkeypatch.setattr(foresight, "MOST_SECONDS", -1.0)
    begun, late = Event(), Event()
    works.then([begun.set, late.set])
    assert begun.wait(PATIENCE_SECONDS)
    assert not late.wait(0.3)


def test_at_the_end_what_was_begun_is_waited_for_and_nothing_else_is_begun() -> None:
    begun, go, ended, never, works = Event(), Event(), Event(), Event(), Foresight()

    def task() -> None:
        begun.set()
        go.wait(PATIENCE_SECONDS)

    def end() -> None:
        works.stop()
        ended.set()

    works.start()
    works.then([task, never.set])
    assert begun.wait(PATIENCE_SECONDS)
    Thread(target=end).start()
    assert not ended.wait(0.1)
    go.set()
    assert ended.wait(PATIENCE_SECONDS)
    works.then([never.set])
    assert not never.wait(0.1)

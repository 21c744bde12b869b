"""Some columns of an answer: the same facts, words as codes, kept like any answer."""

from pathlib import Path
from typing import Any

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.answers import pricing, reserving
from analytics.answers.crews import crews
from analytics.answers.records import Records
from analytics.answers.reserving import reserve
from analytics.contract.tables import WATERS
from analytics.store import Kept, Store
from analytics.store.composing import WORDS


@pytest.mark.parametrize("read", [reserving.READ, pricing.READ])
def test_they_are_what_the_whole_frame_says_of_them(demo_store: Path, read: tuple[str, ...]) -> None:
    ask = Records.of(demo_store).ask
    found = ask("follow_up", read=read)
    assert found.schema["water"] == pl.Enum(WATERS)
    assert not set(found.columns) - set(read)
    assert_frame_equal(
        found.with_columns(pl.col(pl.Enum).cast(pl.String)).sort("crack_id"),
        ask("follow_up").select(found.columns).sort("crack_id"),
    )


def test_they_are_asked_for_once_by_a_door_that_keeps_answers(demo_store: Path) -> None:
    ask = Records.of(demo_store, kept=Kept()).ask
    assert ask("follow_up", read=("crack_id", "water")) is ask("follow_up", read=["crack_id", "water", "water"])


def test_every_word_that_is_recorded_has_its_code(demo_store: Path) -> None:
    whole = Records.of(demo_store).ask("follow_up")
    assert {name for name, each in WORDS.items() if set(whole[name].drop_nulls()) <= set(each.categories)} == set(WORDS)


def test_a_price_book_holds_no_more_of_a_crack_than_it_reads(demo_store: Path) -> None:
    held = pricing.basis(Records.of(demo_store), 24)
    terms = {"price_charged", "travel_minutes", "cracks_on_job"}
    assert set(held.cracks.columns) == set(pricing.READ) | terms


def turn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a store answer in another order each time, as the engine may with very many rows."""
    frame, times = Store.frame, iter(range(1, 1000))

    def turned(self: Store, *asked: Any, **more: Any) -> pl.DataFrame:
        return frame(self, *asked, **more).sample(fraction=1, shuffle=True, seed=next(times))

    monkeypatch.setattr(Store, "frame", turned)


def test_crews_are_judged_alike_whatever_order_each_answer_comes_in(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = crews(Records.of(demo_store)).rows
    turn(monkeypatch)
    assert_frame_equal(crews(Records.of(demo_store)).rows, whole, rel_tol=1e-6)


def test_the_reserve_moves_alike_whatever_order_each_answer_comes_in(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def moved() -> list[float]:
        found = reserve(Records.of(demo_store)).moved
        return [move.leak_backs for move in found.moves] if found else []

    whole = moved()
    turn(monkeypatch)
    assert moved() == pytest.approx(whole, rel=1e-4, abs=1e-4)
    assert whole

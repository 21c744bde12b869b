"""Why the reserve moved: the reasons add up, and each stands alone where nothing else happened."""

from datetime import date, timedelta

import polars as pl
import pytest

from analytics.decisions.reserve_moves import Moves, ReserveBasis, moved
from analytics.risk import HazardModel, Penalties, as_seen_on, fit
from tests.decisions.test_reserving import AS_OF, history

SINCE = AS_OF - timedelta(days=91)


@pytest.fixture(scope="module")
def done() -> pl.DataFrame:
    return history()


@pytest.fixture(scope="module")
def model(done: pl.DataFrame) -> HazardModel:
    return fit(done, AS_OF, Penalties(1.0, 1.0), features=(), with_crews=False)


def then(done: pl.DataFrame) -> pl.DataFrame:
    return as_seen_on(done, SINCE + timedelta(days=1))


def by_reason(found: Moves) -> dict[str, float]:
    return {move.reason: move.leak_backs for move in found.moves}


def test_the_reasons_take_one_reserve_to_the_other(done: pl.DataFrame, model: HazardModel) -> None:
    earlier = fit(then(done), SINCE, Penalties(1.0, 1.0), features=(), with_crews=False)
    found = moved(ReserveBasis(SINCE, then(done), earlier, 280.0, 290.0), ReserveBasis(AS_OF, done, model, 300.0))
    assert found.opening.leak_backs + sum(by_reason(found).values()) == pytest.approx(found.closing.leak_backs)
    costs = [move.cost for move in found.moves]
    assert found.opening.cost is not None
    assert found.opening.cost + sum(cost or 0.0 for cost in costs) == pytest.approx(found.closing.cost)
    paid = by_reason(found)["leak-backs since then, at what one costs"]
    old = set(then(done).filter(~pl.col("leaked_back"))["crack_id"])
    assert -paid == done.filter(pl.col("leaked_back") & pl.col("crack_id").is_in(list(old))).height


def test_only_time_passes(done: pl.DataFrame, model: HazardModel) -> None:
    before = then(done)
    held = before.with_columns(leaked_back=pl.col("leaked_back"))  # nobody leaked since, nothing new
    found = moved(ReserveBasis(SINCE, before, model, None), ReserveBasis(AS_OF, held, model, None))
    moves = by_reason(found)
    assert moves["new work"] == 0
    assert moves["the risks read anew from the fuller records"] == pytest.approx(0, abs=1e-9)
    assert moves["leak-backs since then, at what one costs"] == 0
    assert moves["fewer leak-backs than expected"] < 0
    assert found.closing.cost is None


def test_new_work_is_kept_for(done: pl.DataFrame, model: HazardModel) -> None:
    new = done.filter(~pl.col("leaked_back")).head(10)
    fresh = new.with_columns(
        crack_id=pl.format("N{}", pl.int_range(10)),
        done_on=pl.lit(AS_OF),
        warranty_ends_on=pl.lit(date(2031, 6, 30)),
        watched_days=pl.lit(0.5),
    )
    before = then(done)
    one = moved(ReserveBasis(SINCE, before, model, 1.0, 1.0), ReserveBasis(AS_OF, done, model, 1.0))
    two = moved(ReserveBasis(SINCE, before, model, 1.0, 1.0), ReserveBasis(AS_OF, pl.concat([done, fresh]), model, 1.0))
    more = by_reason(two)["new work"] - by_reason(one)["new work"]
    assert more == pytest.approx(two.closing.leak_backs - one.closing.leak_backs)
    assert more > 0


def test_a_warranty_that_ends_frees_what_was_kept(done: pl.DataFrame, model: HazardModel) -> None:
    ending = then(done).with_columns(warranty_ends_on=pl.lit(AS_OF - timedelta(days=30)))
    found = moved(ReserveBasis(SINCE, ending, model, 1.0, 1.0), ReserveBasis(AS_OF, ending, model, 1.0))
    assert found.closing.leak_backs == 0
    assert by_reason(found)["warranties ended"] == pytest.approx(-found.opening.leak_backs)


def test_dearer_work_is_told_from_other_leak_backs(done: pl.DataFrame, model: HazardModel) -> None:
    found = moved(ReserveBasis(SINCE, then(done), model, 100.0, 110.0), ReserveBasis(AS_OF, done, model, 105.0))
    costs = {move.reason: move.cost for move in found.moves}
    assert costs["changed rates"] == pytest.approx(found.opening.leak_backs * 10)
    assert costs["what leak-backs have cost since"] == pytest.approx(found.opening.leak_backs * -5)

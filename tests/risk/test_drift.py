"""The latest year is told from the years before where it differs, and left in peace where it does not."""

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.risk import Drift, Penalties
from analytics.risk.drift import MEASUREMENTS, drift

LAST = date(2025, 6, 30)
SINCE = LAST - timedelta(days=365)
PENALTIES = Penalties(16.0, 16.0)
REPORTED = pl.col("done_on") + pl.duration(days=pl.col("watched_days").ceil())


@pytest.fixture(scope="module")
def steady(simulate: Callable[..., pl.DataFrame]) -> pl.DataFrame:
    """A business that goes on as before."""
    return simulate(3300, 8)


@pytest.fixture(scope="module")
def still(steady: pl.DataFrame) -> Drift:
    found = drift(steady, LAST, PENALTIES)
    assert found
    return found


def test_a_business_that_goes_on_as_before_is_left_in_peace(still: Drift) -> None:
    assert still.since == SINCE
    assert still.ratio.low < 1 < still.ratio.high
    assert not any(one.stands for one in still.moved)
    assert still.words.startswith("the latest year is like the years before it")


def test_what_is_seen_and_expected_is_that_of_the_latest_year(still: Drift, steady: pl.DataFrame) -> None:
    assert still.leak_backs == steady.filter(pl.col("leaked_back") & (REPORTED > SINCE)).height
    assert still.ratio.value == pytest.approx(still.leak_backs / still.expected)


def test_every_measurement_is_looked_at_once(still: Drift) -> None:
    assert sorted(one.measurement for one in still.moved) == sorted(MEASUREMENTS)
    assert [one.index / one.by_chance for one in still.moved] == sorted(
        (one.index / one.by_chance for one in still.moved), reverse=True
    )


def test_a_crew_that_stops_drying_is_named_with_the_shares(steady: pl.DataFrame) -> None:
    rng = np.random.default_rng(2)
    stopped = (steady["done_on"] >= SINCE) & pl.Series(rng.random(steady.height) < 0.6)
    changed = steady.with_columns(dried=pl.col("dried") & ~stopped)
    found = drift(changed, LAST, PENALTIES)
    assert found
    first = found.moved[0]
    assert (first.measurement, first.stands) == ("dried", True)
    assert first.group in {"yes", "no"}
    before, after = changed.filter(pl.col("done_on") < SINCE), changed.filter(pl.col("done_on") >= SINCE)
    shares = [(side["dried"] == (first.group == "yes")).mean() for side in (before, after)]
    assert [first.before, first.after] == pytest.approx(shares)
    assert "the work has changed" in found.words


def test_wider_cracks_are_named_by_their_band(steady: pl.DataFrame) -> None:
    wider = pl.when(pl.col("done_on") >= SINCE).then(pl.col("width_mm") * 2).otherwise("width_mm")
    found = drift(steady.with_columns(width_mm=wider), LAST, PENALTIES)
    assert found
    assert found.moved[0].measurement == "width_mm"
    assert found.moved[0].group.startswith("over ")


def test_leak_backs_beyond_what_was_foretold_ask_for_a_look(steady: pl.DataFrame) -> None:
    """Leak-backs of the latest year twice over."""
    late = steady.filter(pl.col("leaked_back") & (REPORTED > SINCE))
    again = late.with_columns(pl.format("{}-again", name).alias(name) for name in ("crack_id", "job_id"))
    found = drift(pl.concat([steady, again]), LAST, PENALTIES)
    assert found
    assert found.ratio.low > 1
    assert "too low" in found.words


def test_the_interval_takes_in_what_the_earlier_records_leave_open(simulate: Callable[..., pl.DataFrame]) -> None:
    found = [drift(simulate(1500, seed), LAST, PENALTIES) for seed in range(20, 32)]
    held = [one.ratio.low <= 1 <= one.ratio.high for one in found if one]
    assert len(held) == 12
    assert np.mean(held) > 0.8


def test_a_young_business_has_nothing_to_compare_with(world: pl.DataFrame) -> None:
    young = world.filter(pl.col("done_on") >= LAST - timedelta(days=600))
    assert drift(young, LAST, PENALTIES) is None
    assert drift(world.filter(pl.col("done_on") < SINCE), LAST, PENALTIES) is None


def test_too_few_leak_backs_before_are_nothing_to_go_by(world: pl.DataFrame) -> None:
    few = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 40))
    assert drift(few, LAST, PENALTIES) is None


def test_a_latest_year_with_none_at_all_still_has_an_upper_end(steady: pl.DataFrame) -> None:
    none = steady.with_columns(leaked_back=pl.col("leaked_back") & (REPORTED <= SINCE))
    found = drift(none, LAST, PENALTIES)
    assert found
    assert (found.leak_backs, found.ratio.value, found.ratio.low) == (0, 0.0, 0.0)
    assert found.ratio.high == pytest.approx(3.688879 / found.expected, rel=1e-6)  # Garwood 1936
    assert "too high" in found.words

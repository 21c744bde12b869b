"""The reliability curve: groups of equal size, what was foreseen of them and what came of them."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.risk.outcome import Outcome
from analytics.risk.reliability import LEAK_BACKS_A_BIN, MOST_BINS, reliability

YEAR = 365


def _foretold(n: int, times: float = 1.0, seed: int = 3) -> Outcome:
    """Cracks whose true chance within a year is from 2 to 20 %, foreseen ``times`` as high; a third ends early."""
    rng = np.random.default_rng(seed)
    true = rng.uniform(0.02, 0.2, n)
    born = rng.exponential(1, n) / -np.log1p(-true) * YEAR
    end = np.where(rng.random(n) < 1 / 3, rng.uniform(30, 700, n), 700.0)
    days, leaked = np.ceil(np.minimum(born, end)), born <= end
    chance = np.minimum(true * times, 1.0)
    return Outcome(days, leaked, np.arange(n) // 2, chance, chance, chance)


def test_groups_are_alike_in_size_and_rise_with_what_was_foreseen() -> None:
    outcome = _foretold(4000)
    bins = reliability(outcome)
    assert len(bins) == MOST_BINS
    assert sum(one.cracks for one in bins) == 4000
    assert max(one.cracks for one in bins) - min(one.cracks for one in bins) <= 1
    foreseen = [one.foreseen for one in bins]
    assert foreseen == sorted(foreseen)
    assert np.average(foreseen, weights=[one.cracks for one in bins]) == pytest.approx(outcome.chance.mean())


def test_leak_backs_are_those_within_the_horizon() -> None:
    outcome = _foretold(4000)
    within = (outcome.leaked & (outcome.days <= YEAR)).sum()
    assert sum(one.leak_backs for one in reliability(outcome)) == within


def test_a_true_forecast_lies_in_the_intervals() -> None:
    bins = [one for seed in range(8) for one in reliability(_foretold(2000, seed=seed))]
    held = [one.seen.low <= one.foreseen <= one.seen.high for one in bins if one.seen]
    assert np.mean(held) > 0.88


def test_those_who_stopped_being_watched_are_not_counted_as_having_held() -> None:
    outcome = _foretold(6000)
    seen = np.average([one.seen.value for one in reliability(outcome) if one.seen])
    plain = (outcome.leaked & (outcome.days <= YEAR)).mean()
    assert seen == pytest.approx(outcome.chance.mean(), rel=0.06)
    assert plain < 0.95 * seen


def test_foreseen_twice_as_high_is_seen_to_be() -> None:
    top = reliability(_foretold(4000, times=2.0))[-1]
    assert top.seen
    assert top.foreseen > 1.6 * top.seen.value
    assert top.foreseen > top.seen.high


def test_few_leak_backs_make_few_groups() -> None:
    outcome = _foretold(300)
    assert len(reliability(outcome)) == max(2, outcome.leaked.sum() // LEAK_BACKS_A_BIN)


def test_a_group_that_nobody_watches_to_the_horizon_has_no_share() -> None:
    outcome = _foretold(300)
    short = replace(outcome, days=np.minimum(outcome.days, 200.0), leaked=outcome.leaked & (outcome.days <= 200))
    assert {one.seen for one in reliability(short)} == {None}

"""The interval of a leak-back rate where data is thin."""

import numpy as np
import pytest

from analytics.errors import LeakbackError
from analytics.stats.intervals import clopper_pearson, log_log
from analytics.stats.survival import leak_back_interval, product_limit


def test_from_five_events_on_it_is_the_log_log_interval_turned_around() -> None:
    rate = leak_back_interval([0.9, 0.752941], [0.002, (0.096350 / 0.752941) ** 2], [5, 5], [60, 15], 0.95)
    low, high = log_log(0.9, 0.002, 0.95)
    assert rate.value[0] == pytest.approx(0.1)
    assert (rate.low[0], rate.high[0]) == pytest.approx((1 - float(high), 1 - float(low)))
    # Freireich et al. 1963, 6-MP at 10 weeks: survival 0.5032–0.8894 (lifelines 0.30, R survfit).
    assert (rate.low[1], rate.high[1]) == pytest.approx((1 - 0.8894, 1 - 0.5032), abs=5e-5)


@pytest.mark.parametrize("events", [1, 2, 3, 4])
def test_few_events_with_all_watched_give_the_exact_interval_of_a_plain_share(events: int) -> None:
    # Without censoring S(1 - S) / var(S) is the number of units.
    failed = np.arange(30) < events
    reading = product_limit(np.where(failed, 5, 20), failed).read(20)
    rate = leak_back_interval(*reading, 0.95)
    low, high = clopper_pearson(events, 30, 0.95)
    assert (rate.value[0], rate.low[0], rate.high[0]) == pytest.approx((events / 30, float(low), float(high)))


def test_one_in_twenty_nine_is_newcombes() -> None:
    failed = np.arange(29) < 1
    rate = leak_back_interval(*product_limit(np.where(failed, 5, 20), failed).read(12), 0.95)
    # Newcombe, Stat. Med. 17 (1998) 857–872: 1/29, method 5.
    assert (rate.low[0], rate.high[0]) == pytest.approx((0.0009, 0.1776), abs=5e-5)


def test_censored_and_clustered_cracks_count_for_fewer() -> None:
    exact = leak_back_interval(0.95, (1 - 0.95) / 0.95 / 60, 3, 40, 0.9)
    clustered = leak_back_interval(0.95, (1 - 0.95) / 0.95 / 30, 3, 40, 0.9)
    assert (float(exact.low), float(exact.high)) == pytest.approx(tuple(map(float, clopper_pearson(3, 60, 0.9))))
    assert clustered.low < exact.low < exact.value == clustered.value < exact.high < clustered.high


def test_no_event_is_no_zero() -> None:
    rate = leak_back_interval(1, 0, 0, 20, 0.95)
    # Newcombe 1998: 0/20, method 5.
    assert float(rate.value) == float(rate.low) == 0
    assert float(rate.high) == pytest.approx(0.1684, abs=5e-5)


def test_none_left_mirrors_no_event() -> None:
    rate = leak_back_interval(0, np.inf, 20, 20, 0.95)
    assert float(rate.value) == float(rate.high) == 1
    assert float(rate.low) == pytest.approx(1 - 0.1684, abs=5e-5)


def test_fewer_than_ten_watched_say_nothing() -> None:
    rate = leak_back_interval([0.9, 0.9, 1, 1], [0.002, 0.002, 0, 0], [9, 9, 0, 0], [9, 10, 9, 10], 0.95)
    for field in rate:
        assert np.isnan(field).tolist() == [True, False, True, False]


def test_arrays_give_what_single_cracks_give() -> None:
    rows = np.array([(1.0, 0.0, 0, 25), (0.96, 0.001, 2, 40), (0.9, 0.002, 12, 80), (0.8, 0.01, 9, 4)])
    survival, var_log, events, watched = rows.T
    together = leak_back_interval(survival, var_log, events, watched, 0.9)
    for place in range(len(rows)):
        alone = leak_back_interval(survival[place], var_log[place], events[place], watched[place], 0.9)
        assert [field[place] for field in together] == pytest.approx(list(map(float, alone)), nan_ok=True)


def test_the_value_lies_within_its_interval() -> None:
    rng = np.random.default_rng(3)
    for _ in range(200):
        times, failed = rng.integers(1, 40, 60), rng.random(60) < rng.uniform(0, 0.4)
        value, low, high = leak_back_interval(*product_limit(times, failed, np.arange(60) // 2).read([6, 12, 24]), 0.9)
        shown = ~np.isnan(value)
        assert np.all((low <= value) & (value <= high) | ~shown)


def test_events_without_variance_are_refused() -> None:
    with pytest.raises(LeakbackError, match="no variance"):
        leak_back_interval([1, 0.9], [0, 0], [0, 3], [30, 30], 0.95)


@pytest.mark.parametrize("rate", [0.02, 0.05, 0.10])
def test_a_ninety_percent_interval_holds_the_truth_at_small_numbers(rate: float) -> None:
    """80 cracks at a steady hazard, entered over five years: at 24 months 1.6, 4 or 8 leak-backs at the most."""
    rng = np.random.default_rng(11)
    scale, held, worlds = -24 / np.log(1 - rate), 0, 1000
    for _ in range(worlds):
        leak, end = rng.exponential(scale, 80), rng.uniform(3, 60, 80)
        _, low, high = leak_back_interval(*product_limit(np.minimum(leak, end), leak <= end).read(24), 0.9)
        held += bool(low[0] <= rate <= high[0])
    assert 0.88 <= held / worlds <= 0.99

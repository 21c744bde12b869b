"""The median's error and the test of a jump, by simulation against what is known of medians."""

import math

import numpy as np
import pytest

from analytics.stats.medians import Middle, beyond, middle

SEED = 20261125


def test_the_error_of_a_normal_samples_median_is_a_quarter_more_than_the_means() -> None:
    """Asymptotically sqrt(pi / 2) sd / sqrt(n) (Cramer, Mathematical Methods of Statistics, from memory)."""
    rng = np.random.default_rng(SEED)
    errors = [middle(rng.normal(0, 2, 400)).error for _ in range(150)]
    assert np.mean(errors) == pytest.approx(math.sqrt(math.pi / 2) * 2 / 20, rel=0.08)


def test_the_error_of_the_numbers_to_25_by_hand() -> None:
    """The 8th and the 18th of 25 stand 10 apart; chance leaves the median outside them 4.33 % of the time, z = 2.0207.

    Formula of Price & Bonett (2001): ranks round(13 - 5) = 8 and 18, P(B <= 7) = 0.02164 for 25 tosses.
    """
    size, median, error = middle(list(range(1, 26)))
    assert (size, median) == (25, 13.0)
    assert error == pytest.approx(10 / (2 * 2.0207), rel=1e-3)


@pytest.mark.parametrize("draw", ["lognormal", "exponential", "uniform"])
def test_the_interval_holds_the_true_median_about_as_often_as_it_says(draw: str) -> None:
    rng = np.random.default_rng(SEED)
    true = {"lognormal": 1.0, "exponential": math.log(2), "uniform": 0.5}[draw]
    makers = {
        "lognormal": lambda: rng.lognormal(0, 1, 200),
        "exponential": lambda: rng.exponential(1, 200),
        "uniform": lambda: rng.uniform(0, 1, 200),
    }
    found = [middle(makers[draw]()) for _ in range(600)]
    held = np.mean([abs(each.median - true) <= 1.96 * each.error for each in found])
    assert 0.91 <= held <= 0.975


def test_a_two_humped_samples_median_is_known_badly_and_says_so() -> None:
    """Half the cracks thin, half wide: by the spread about its middle such a median would look well known."""
    values = [0.1] * 50 + [1.0] * 50
    assert middle(values).error > 0.1


def test_medians_within_the_margin_are_no_jump() -> None:
    one, other = Middle(100, 0.0, 0.05), Middle(100, 0.4, 0.05)
    assert beyond(one, other, 0.405) > 0.5
    assert beyond(one, Middle(100, 2.0, 0.05), 0.405) < 1e-6
    assert beyond(one, other, 0.405) == beyond(other, one, 0.405)


def test_medians_without_spread_jump_or_do_not() -> None:
    assert beyond(Middle(30, 0.0, 0.0), Middle(30, 1.0, 0.0), 0.4) == 0.0
    assert beyond(Middle(30, 0.0, 0.0), Middle(30, 0.3, 0.0), 0.4) == 1.0


def test_too_few_values_have_no_error() -> None:
    with pytest.raises(ValueError, match="needs 5 values, not 4"):
        middle([1, 2, 3, 4])

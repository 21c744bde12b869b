"""The conformal quantile: the rule itself, and that it holds what it says whatever the errors look like."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import LeakbackError
from analytics.stats.conformal import conformal_quantile, conformal_rank, smearing


def the_rule(errors: list[float], level: float) -> float:
    """The ceil((n + 1) level)th smallest absolute error, infinite where there is none (Lei et al. 2018)."""
    sizes = sorted(abs(error) for error in errors)
    place = math.ceil((len(sizes) + 1) * round(level, 10) - 1e-12)
    return sizes[place - 1] if place <= len(sizes) else math.inf


@given(st.lists(st.floats(-100, 100), min_size=1, max_size=60), st.sampled_from([0.5, 0.8, 0.9, 0.95]))
@settings(max_examples=200, deadline=None)
def test_the_quantile_is_the_rule(errors: list[float], level: float) -> None:
    assert conformal_quantile(np.array(errors), level) == the_rule(errors, level)


@pytest.mark.parametrize(
    # The fewest errors with which a level has an end: level / (1 - level)
    ("level", "fewest"),
    [(0.8, 4), (0.9, 9), (0.95, 19)],
)
def test_with_too_few_errors_there_is_no_end(level: float, fewest: int) -> None:
    assert conformal_quantile(np.ones(fewest - 1), level) == math.inf
    assert conformal_quantile(np.ones(fewest), level) == 1.0


def test_floating_point_does_not_ask_for_one_more_error() -> None:
    # (9 + 1) x 0.9 and (19 + 1) x 0.95 are whole; as doubles they may be a hair above
    assert [conformal_rank(n, level) for n, level in ((9, 0.9), (19, 0.95), (99, 0.07), (24, 0.8))] == [9, 19, 7, 20]


@pytest.mark.parametrize("level", [0.0, 1.0, 1.2, -0.1])
def test_a_level_lies_between_0_and_1(level: float) -> None:
    with pytest.raises(LeakbackError, match="level"):
        conformal_quantile(np.ones(5), level)


def test_it_holds_the_next_error_as_often_as_it_says() -> None:
    # With n errors and no ties the next lies within exactly ceil((n + 1) level) / (n + 1) of the time
    rng = np.random.default_rng(11)
    draws = rng.standard_t(2, size=(20_000, 31))  # heavy tails: no normal interval would hold
    held = np.abs(draws[:, 30]) <= np.sort(np.abs(draws[:, :30]), axis=1)[:, conformal_rank(30, 0.8) - 1]
    assert held.mean() == pytest.approx(25 / 31, abs=0.01)


def test_the_smearing_factor_of_normal_errors_is_that_of_the_lognormal() -> None:
    errors = np.random.default_rng(4).normal(0, 0.4, 200_000)
    assert smearing(errors) == pytest.approx(np.exp(0.4**2 / 2), rel=0.005)
    assert smearing(np.zeros(3)) == 1.0

"""Limits of a funnel, exact p-values, and how large a crew must be."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from analytics.crews.limits import TAILS, expected_needed, interval, limit, p_value


@pytest.mark.parametrize(
    ("expected", "limits_95", "limits_998"),
    [
        (5, (0.1084, 1.8753), (0.0, 2.5543)),
        (10, (0.3775, 1.6160), (0.1221, 2.0662)),
        (20, (0.5603, 1.4373), (0.3585, 1.7357)),
        (50, (0.7224, 1.2766), (0.5825, 1.4550)),
    ],
)
def test_limits_of_a_funnel(expected: float, limits_95: tuple[float, float], limits_998: tuple[float, float]) -> None:
    """Exact Poisson with the interpolation of Spiegelhalter 2005; no published table found, computed in R's terms."""
    found = {name: float(limit(expected, tail)) for name, tail in TAILS.items()}
    assert (found["low_95"], found["high_95"]) == pytest.approx(limits_95, abs=5e-5)
    assert (found["low_998"], found["high_998"]) == pytest.approx(limits_998, abs=5e-5)


@settings(deadline=None)
@given(st.floats(0.2, 200), st.sampled_from(sorted(TAILS.values())))
def test_the_limit_is_the_interpolated_quantile(expected: float, tail: float) -> None:
    """A naive walk along the Poisson probabilities."""
    below, count = 0.0, 0
    while below + stats.poisson.pmf(count, expected) < tail:
        below += stats.poisson.pmf(count, expected)
        count += 1
    chance = stats.poisson.pmf(count, expected)
    naive = max(0.0, count - (below + chance - tail) / chance) / expected
    assert float(limit(expected, tail)) == pytest.approx(naive, rel=1e-6, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0.05, 300), st.floats(1e-4, 2), st.sampled_from(sorted(TAILS.values())), st.integers(0, 300))
def test_limits_and_chances_are_scipys_negative_binomial(mean: float, extra: float, tail: float, count: int) -> None:
    law = stats.nbinom(1 / extra, 1 / (1 + extra * mean))
    reached = law.ppf(tail)
    wanted = max(0.0, (reached - (law.cdf(reached) - tail) / law.pmf(reached)) / mean)
    assert float(limit(mean, tail, extra)) == pytest.approx(wanted, rel=1e-6, abs=1e-9)
    twice = min(1.0, 2 * min(law.cdf(count), law.sf(count - 1)))
    assert float(p_value(count, mean, extra)) == pytest.approx(twice, rel=1e-6, abs=1e-300)


def test_an_uncertain_mean_has_the_variance_it_says() -> None:
    """Gamma-Poisson: counts of mean 40 whose mean varies by 10 %, drawn and counted."""
    rng = np.random.default_rng(3)
    drawn = rng.poisson(40 * rng.gamma(1 / 0.01, 0.01, 400_000))
    for tail in (0.025, 0.975):
        assert np.quantile(drawn, tail) / 40 == pytest.approx(float(limit(40, tail, 0.01)), abs=0.03)
    assert (drawn >= 62).mean() * 2 == pytest.approx(float(p_value(62, 40, 0.01)), abs=0.0015)


@settings(deadline=None)
@given(st.floats(0.5, 100), st.floats(0, 0.2), st.floats(0, 0.2))
def test_limits_widen_with_what_is_not_known(expected: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert limit(expected, 0.999, more) >= limit(expected, 0.999, less) - 1e-9
    assert limit(expected, 0.001, more) <= limit(expected, 0.001, less) + 1e-9


@settings(deadline=None)
@given(st.integers(0, 80), st.floats(0.5, 60))
def test_the_p_value_is_under_5_percent_just_where_the_interval_leaves_out_1(observed: int, expected: float) -> None:
    low = stats.chi2.ppf(0.025, 2 * observed) / 2 if observed else 0.0
    high = stats.chi2.ppf(0.975, 2 * observed + 2) / 2
    p = float(p_value(observed, expected))
    if abs(p - 0.05) > 1e-6:
        assert (p < 0.05) == (not low <= expected <= high)


def test_p_values_are_never_too_small_under_chance_alone() -> None:
    """What Benjamini and Hochberg's proof asks for: P(p <= a) <= a."""
    counts = np.arange(200)
    for expected in (0.7, 3.0, 12.0, 35.0):
        p = p_value(counts, expected)
        chance = stats.poisson.pmf(counts, expected)
        for level in (0.001, 0.01, 0.05, 0.2):
            assert chance[p <= level].sum() <= level + 1e-12


def test_a_doubling_is_noticed_four_times_in_five_from_the_size_that_is_said() -> None:
    size = expected_needed()
    rng = np.random.default_rng(1)

    def power(expected: float) -> float:
        return float((rng.poisson(2 * expected, 200_000) > limit(expected, 0.999) * expected).mean())

    assert 19 < size < 22
    assert all(power(size + more) > 0.798 for more in (0, 0.5, 1, 2, 5))
    assert power(size - 0.1) < 0.8


@settings(deadline=None)
@given(st.integers(0, 80), st.floats(0.5, 60))
def test_with_nothing_beyond_chance_the_interval_is_the_exact_one(observed: int, expected: float) -> None:
    """Garwood 1936, by chi-squared."""
    found = interval(np.array([float(observed)]), np.array([expected]), np.zeros(1), 1.0, 0.95)
    low = stats.chi2.ppf(0.025, 2 * observed) / 2 if observed else 0.0
    assert float(found.low[0]) * expected == pytest.approx(low, rel=1e-9)
    assert float(found.high[0]) * expected == pytest.approx(stats.chi2.ppf(0.975, 2 * observed + 2) / 2, rel=1e-9)


@settings(deadline=None)
@given(st.integers(0, 80), st.floats(0.5, 60), st.floats(0, 0.2), st.floats(1, 2.5))
def test_the_interval_leaves_out_1_just_where_the_p_value_is_under_5_percent(
    observed: int, expected: float, error: float, together: float
) -> None:
    found = interval(np.array([float(observed)]), np.array([expected]), np.array([error]), together, 0.95)
    p = float(p_value(observed, expected, error + (together - 1) / expected))
    if abs(p - 0.05) > 1e-6:
        assert (p < 0.05) == (not float(found.low[0]) <= 1 <= float(found.high[0]))


def test_an_expected_so_unsure_that_no_ratio_can_be_ruled_out_has_no_upper_end() -> None:
    found = interval(np.array([1.0, 1.0]), np.array([0.5, 0.5]), np.array([8.0, 0.0]), 1.0, 0.95)
    assert np.isnan(found.high).tolist() == [True, False]

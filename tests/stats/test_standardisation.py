"""Ratios pooled over strata: published ones, cracks of a job that leak together, and what could upset them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.stats.standardisation import (
    Pooled,
    e_value,
    e_value_of_interval,
    pooled_rate_ratio,
    pooled_rate_ratio_by_cluster,
)


def test_clozapine_deaths_by_age() -> None:
    # Rothman, Greenland & Lash, Modern Epidemiology (2008), ch. 15: 0.47 (0.40 to 0.55); the table from memory.
    pooled = pooled_rate_ratio([196, 167], [62119, 6085], [111, 157], [15763, 2780])
    assert pooled == pytest.approx((0.4689, 0.3998, 0.5498), abs=5e-5)


def test_e_values() -> None:
    # VanderWeele & Ding, Annals of Internal Medicine 167 (2017) 268: 3.9 (1.8 to 8.7).
    assert e_value(3.9) == pytest.approx(7.26, abs=0.005)
    assert e_value_of_interval(1.8, 8.7) == pytest.approx(3.0, abs=0.005)
    assert e_value(0.8) == pytest.approx(1.809, abs=5e-4)
    assert e_value_of_interval(0.7, 1.2) == 1.0


@given(st.floats(0.05, 20))
def test_an_e_value_takes_no_notice_of_which_side_is_which(ratio: float) -> None:
    assert e_value(ratio) == pytest.approx(e_value(1 / ratio))
    assert e_value(ratio) >= max(ratio, 1 / ratio) - 1e-12


def test_a_stratum_with_one_group_only_changes_nothing() -> None:
    pooled = pooled_rate_ratio([5, 3], [100, 40], [9, 4], [90, 60])
    assert pooled_rate_ratio([5, 3, 7], [100, 40, 30], [9, 4, 0], [90, 60, 0]) == pytest.approx(pooled)


def test_sides_swapped_turn_the_ratio_over() -> None:
    ratio, low, high = pooled_rate_ratio([5, 3], [100, 40], [9, 4], [90, 60])
    assert pooled_rate_ratio([9, 4], [90, 60], [5, 3], [100, 40]) == pytest.approx((1 / ratio, 1 / high, 1 / low))


UNITS = np.random.default_rng(5)
STRATA, CLUSTERS = UNITS.integers(0, 3, 400), UNITS.integers(0, 60, 400)
IN_A = CLUSTERS % 3 == 0
EVENTS = (UNITS.random(400) < np.where(CLUSTERS % 5 == 0, 0.7, 0.05)).astype(float)
TIMES = UNITS.uniform(0.1, 2, 400)
"""A cluster is of one group, and its units have their events together."""


def plain(weights: np.ndarray) -> Pooled:
    """Of the units, each counted as often as its weight says, as if none knew of another."""
    events, times = EVENTS * weights, TIMES * weights
    a, b = IN_A, ~IN_A
    return pooled_rate_ratio(
        np.bincount(STRATA[a], events[a], 3),
        np.bincount(STRATA[a], times[a], 3),
        np.bincount(STRATA[b], events[b], 3),
        np.bincount(STRATA[b], times[b], 3),
    )


def known(copies: int, clusters: np.ndarray) -> Pooled:
    """Of the units, told so many times over, in clusters."""
    events, times, in_a, strata = (np.tile(x, copies) for x in (EVENTS, TIMES, IN_A, STRATA))
    return pooled_rate_ratio_by_cluster(events, times, in_a, strata, clusters)


def test_clusters_pull_on_the_pooled_ratio_as_their_weights_do() -> None:
    """The jackknife's definition: the slope of the log ratio as a cluster is counted a little more often."""
    step = 1e-6
    own = [step * np.equal(CLUSTERS, cluster) for cluster in range(60)]
    slopes = [np.log(plain(1 + one).ratio / plain(1 - one).ratio) / (2 * step) for one in own]
    error = np.sqrt(np.square(slopes).sum())
    ratio, low, high = known(1, CLUSTERS)
    assert ratio == pytest.approx(plain(np.ones(400)).ratio)
    assert np.log([high / ratio, ratio / low]) == pytest.approx([1.959964 * error] * 2, rel=1e-6)


def test_the_same_cracks_told_twice_are_half_as_telling_where_it_is_known() -> None:
    together, apart = known(2, np.tile(np.arange(400), 2)), known(2, np.arange(800))
    assert together.ratio == pytest.approx(apart.ratio)
    assert np.log(together.high / together.low) > 1.2 * np.log(apart.high / apart.low)


def test_clusters_never_narrow_the_pooled_ratio() -> None:
    """Of a single cluster the influences sum to nothing."""
    assert known(1, np.zeros(400, dtype=int)) == pytest.approx(plain(np.ones(400)))


def test_a_stratum_with_one_group_only_changes_nothing_by_cluster_either() -> None:
    found = pooled_rate_ratio_by_cluster(
        np.append(EVENTS, 1), np.append(TIMES, 5), np.append(IN_A, [True]), np.append(STRATA, 3), np.append(CLUSTERS, 7)
    )
    assert found == pytest.approx(known(1, CLUSTERS))


def test_where_nothing_can_be_told_nothing_is() -> None:
    assert np.isnan(pooled_rate_ratio_by_cluster([], [], [], [], []).ratio)
    assert np.isnan(pooled_rate_ratio([0], [10], [0], [12]).ratio)

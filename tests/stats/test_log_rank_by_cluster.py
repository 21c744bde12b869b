"""The log-rank test where units of a cluster fail together: its score is the plain one's, its size holds."""

import numpy as np
import pytest
from scipy import stats

from analytics.errors import LeakbackError
from analytics.stats.survival import log_rank_by_cluster
from tests.stats.test_survival import PLACEBO, RELAPSED, TREATED

TIMES, FAILED = TREATED + PLACEBO, RELAPSED + [1] * len(PLACEBO)
GROUP = [1] * len(TREATED) + [0] * len(PLACEBO)


def _naive(clusters: list[int]) -> float:
    """Each unit's score residual by a loop over the ages, then summed by cluster."""
    units = list(zip(TIMES, FAILED, GROUP, clusters, strict=True))
    pulls: dict[int, float] = {}
    for t, e, z, cluster in units:
        pull = 0.0
        for age in sorted({u for u, failed, _, _ in units if failed and u <= t}):
            at_risk = [group for u, _, group, _ in units if u >= age]
            share = sum(at_risk) / len(at_risk)
            pull -= (z - share) * sum(1 for u, failed, _, _ in units if failed and u == age) / len(at_risk)
            pull += (z - share) if e and t == age else 0.0
        pulls[cluster] = pulls.get(cluster, 0.0) + pull
    return sum(pulls.values()) ** 2 / sum(pull**2 for pull in pulls.values())


def test_it_agrees_with_a_loop() -> None:
    clusters = [place // 3 for place in range(len(TIMES))]
    found = log_rank_by_cluster(TIMES, FAILED, GROUP, clusters)
    assert found.chi2 == pytest.approx(_naive(clusters), rel=1e-9)


def test_the_order_of_rows_and_the_names_of_clusters_change_nothing() -> None:
    clusters = np.arange(len(TIMES)) // 3
    order = np.random.default_rng(1).permutation(len(TIMES))
    times, failed, group = (np.array(part)[order] for part in (TIMES, FAILED, GROUP))
    mixed = log_rank_by_cluster(times, failed, group, 7 - clusters[order])
    assert mixed == pytest.approx(log_rank_by_cluster(TIMES, FAILED, GROUP, clusters))


def test_it_calls_chance_a_difference_one_time_in_twenty_where_the_plain_test_does_so_oftener() -> None:
    rng = np.random.default_rng(1)
    false = []
    for _ in range(400):
        cluster = np.repeat(np.arange(150), 3)
        group = (rng.random(150) < 0.4)[cluster]
        born = rng.exponential(1 / rng.gamma(1, 1, 150)[cluster])
        end = rng.uniform(0, 2, len(cluster))
        days, failed = np.ceil(np.minimum(born, end) * 20), born < end
        by_cluster = log_rank_by_cluster(days, failed, group, cluster).p_value
        mine, others = (stats.CensoredData.right_censored(days[of], ~failed[of]) for of in (group, ~group))
        plain = float(stats.logrank(mine, others).pvalue)
        false.append((by_cluster < 0.05, plain < 0.05))
    share, plainly = np.mean(false, axis=0)
    assert 0.03 < share < 0.075
    assert plainly > 0.1


def test_one_group_tells_nothing() -> None:
    assert np.isnan(log_rank_by_cluster([1, 2], [True, True], [1, 1], [0, 1]).chi2)


def test_lengths_must_agree() -> None:
    with pytest.raises(LeakbackError, match="differ in length"):
        log_rank_by_cluster([1, 2], [True, True], [1], [0, 1])

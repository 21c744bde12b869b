"""The stability index by hand, and against chance."""

import numpy as np
import pytest

from analytics.stats.shift import shift, stability_index


def test_two_groups_by_hand() -> None:
    # 0.25 ln(0.5 / 0.25) + 0.25 ln(0.75 / 0.5) = 0.25 ln 3, worked out by hand
    assert stability_index([0.25, 0.75], [0.5, 0.5]) == pytest.approx(0.274653, abs=5e-7)
    assert stability_index([0.5, 0.5], [0.25, 0.75]) == pytest.approx(0.274653, abs=5e-7)


def test_counts_are_as_good_as_shares_and_nothing_moved_is_nought() -> None:
    assert stability_index([30, 90], [200, 200]) == pytest.approx(0.274653, abs=5e-7)
    assert stability_index([3, 4, 5], [6, 8, 10]) == pytest.approx(0)


def test_where_nothing_moved_it_is_what_chance_makes_of_it() -> None:
    rng = np.random.default_rng(4)
    shares, n, m = [0.5, 0.3, 0.15, 0.05], 900, 250
    drawn = [shift(rng.multinomial(n, shares), rng.multinomial(m, shares), n, m) for _ in range(2000)]
    assert np.mean([one.stability for one in drawn]) == pytest.approx(drawn[0].by_chance, rel=0.05)
    assert np.mean([one.p_value < 0.05 for one in drawn]) == pytest.approx(0.05, abs=0.015)


def test_a_folk_limit_would_be_noise_where_jobs_are_few() -> None:
    assert shift([100] * 10, [6] * 10, 600, 60).by_chance > 0.1


def test_what_moved_stands_out() -> None:
    assert shift([700, 300], [100, 150], 1000, 250).p_value < 1e-6


def test_a_group_never_seen_before_is_finite() -> None:
    found = shift([500, 0], [90, 10], 500, 100)
    assert 0 < found.stability < 1
    assert found.p_value < 1e-3

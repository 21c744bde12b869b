"""Benjamini and Hochberg's own example."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from analytics.stats.multiplicity import adjusted, stands

# Benjamini & Hochberg, J. R. Statist. Soc. B 57 (1995) 289–300, section 4.1.
P_VALUES = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0),
]


def test_four_findings_stand_at_five_percent() -> None:
    assert stands(P_VALUES, 0.05).tolist() == [True] * 4 + [False] * 11


def test_adjusted_values() -> None:
    # The paper's procedure, computed.
    expected = [0.0015, 0.0030, 0.0095, 0.035625, 0.0603, 0.063857, 0.063857, 0.0645, 0.0765, 0.486]
    assert adjusted(P_VALUES)[:10] == pytest.approx(expected, abs=5e-7)


def test_the_order_of_findings_does_not_matter() -> None:
    order = np.random.default_rng(1).permutation(len(P_VALUES))
    assert adjusted(np.array(P_VALUES)[order]) == pytest.approx(adjusted(P_VALUES)[order])


def test_nothing_compared_finds_nothing() -> None:
    assert adjusted([]).size == stands([], 0.05).size == 0


@given(st.lists(st.floats(0, 1) | st.sampled_from([0.01, 0.02]), max_size=40))
def test_adjusted_values_are_scipys(p_values: list[float]) -> None:
    expected = np.asarray(stats.false_discovery_control(p_values, method="bh") if p_values else [])
    assert adjusted(p_values) == pytest.approx(expected, abs=1e-12)

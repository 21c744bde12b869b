"""Some rows stand for all: none twice, no end left out, and the gaps between them alike."""

import numpy as np
import pytest

from analytics.stats.sampling import evenly


@pytest.mark.parametrize("rows", [0, 1, 7, 10])
def test_few_rows_are_all_taken(rows: int) -> None:
    assert evenly(rows, 10).tolist() == list(range(rows))


@pytest.mark.parametrize(("rows", "most"), [(11, 10), (1_000_003, 10_000), (40_001, 40_000)])
def test_of_many_as_many_as_asked_for_lie_evenly(rows: int, most: int) -> None:
    places = evenly(rows, most)
    assert len(places) == most
    assert (places[0], places[-1]) == (0, rows - 1)
    gaps = np.diff(places)
    assert gaps.min() >= (rows - 1) // (most - 1)
    assert gaps.max() <= (rows - 1) // (most - 1) + 1

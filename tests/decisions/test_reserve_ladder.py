"""The chain ladder beside the reserve: the triangle counts what the records say, and both tell about the same."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.decisions.reserve_ladder import ladder_check, triangle
from analytics.errors import TooFewError
from analytics.risk import Penalties, fit
from tests.decisions.test_reserving import AS_OF, history


def test_the_triangle_counts_each_leak_back_once_and_none_past_the_diagonal() -> None:
    done = history()
    counts = triangle(done, AS_OF)
    assert counts.sum() == done["leaked_back"].sum()
    row, column = np.indices(counts.shape)
    assert not counts[row + column >= len(counts)].any()


def test_a_leak_back_stands_in_its_year_of_work_and_the_years_since() -> None:
    done = pl.DataFrame(
        {
            "done_on": [AS_OF - timedelta(days=days) for days in (1000, 400, 10)],
            "watched_days": [500.0, 390.0, 10.0],
            "leaked_back": [True, True, False],
        }
    )
    # years back: worked 2, reported 1; worked 1, reported 0; worked 0
    assert triangle(done, AS_OF).tolist() == [[0, 1, 0], [0, 1, 0], [0, 0, 0]]


def test_both_looks_agree_where_all_cracks_are_alike() -> None:
    done = history(cracks=6000, seed=11)
    model = fit(done, AS_OF, Penalties(1.0, 1.0), features=(), with_crews=False)
    found = ladder_check(model, done, AS_OF)
    assert abs(found.expected - found.by_hazard) < 2 * found.error


def test_a_young_business_has_no_chain_ladder() -> None:
    done = history().filter(pl.col("done_on") > date(2024, 6, 30))
    model = fit(history(), AS_OF, Penalties(1.0, 1.0), features=(), with_crews=False)
    with pytest.raises(TooFewError, match="years of work"):
        ladder_check(model, done, AS_OF)

"""The penalties are chosen by what they foretell, on nothing but what was known before."""

from collections.abc import Callable
from datetime import date

import polars as pl
import pytest

from analytics.errors import TooFewError
from analytics.risk import penalty
from analytics.risk.penalty import CREW_PENALTIES, FEATURE_PENALTIES, choose


def test_where_nothing_matters_effects_are_shrunk_hardest(simulate: Callable[..., pl.DataFrame]) -> None:
    nothing = simulate(1500, 2, effects={}, crew=dict.fromkeys(("C-1", "C-2", "C-3"), 0.0))
    assert choose(nothing).features == FEATURE_PENALTIES[-1]


def test_where_water_rules_effects_are_shrunk_little(simulate: Callable[..., pl.DataFrame]) -> None:
    wet = simulate(1500, 2, effects={"water_seeping": 2.5, "water_running": 3.5, "urethane_foam": -1.5})
    assert choose(wet).features <= FEATURE_PENALTIES[1]


def test_where_crews_differ_widely_they_are_shrunk_little(simulate: Callable[..., pl.DataFrame]) -> None:
    uneven = simulate(1500, 2, crew={"C-1": -1.5, "C-2": 1.2, "C-3": 0.0, "C-4": 0.8})
    assert choose(uneven).crews <= CREW_PENALTIES[1]


def test_each_trial_is_judged_on_what_came_after_it_alone(world: pl.DataFrame) -> None:
    cuts = penalty._cuts(world)
    assert len(cuts) == 3
    assert [end for _, end in cuts] == [cuts[1][0], cuts[2][0], None]
    reported = world.filter("leaked_back").select(
        day=pl.col("done_on") + pl.duration(days=pl.col("watched_days").ceil())
    )["day"]
    for begin, end in cuts:
        trial = penalty._trial(world, begin, end, (), with_crews=False)
        assert trial.before.leaked.sum() == (reported <= begin).sum()
        assert trial.after.leaked.sum() == ((reported > begin) & (reported <= (end or date.max))).sum()


def test_too_few_to_choose_is_said(world: pl.DataFrame) -> None:
    few = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 10))
    with pytest.raises(TooFewError, match="10 leak-backs are too few to choose"):
        choose(few)

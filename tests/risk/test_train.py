"""From the records to a model: checked on some of very many cracks, fitted to all."""

from collections.abc import Callable
from datetime import date
from functools import partial
from importlib import import_module

import numpy as np
import polars as pl
import pytest

from analytics.risk import choose, fit, risk, train
from analytics.risk.exposure import MOST_CHECKED, thinned

AS_OF = date(2025, 6, 30)
Simulate = Callable[..., pl.DataFrame]


def test_penalties_chosen_on_some_cracks_move_the_median_risk_by_under_two_per_cent(simulate: Simulate) -> None:
    """Half of 36 000; of those that are ever thinned, more are kept."""
    world = simulate(20_000, 2)
    some = thinned(world, world.height // 2)
    assert some.height < MOST_CHECKED
    whole, thin = (risk(fit(world, AS_OF, choose(cracks)), world, 24)["risk"].to_numpy() for cracks in (world, some))
    assert np.median(np.abs(thin / whole - 1)) < 0.02


def test_a_model_checked_on_some_says_so_and_rests_on_all(simulate: Simulate, monkeypatch: pytest.MonkeyPatch) -> None:
    world = simulate(2500, 4).filter(pl.col("watched_days") > 0)
    module = import_module("analytics.risk.train")  # the package's own ``train`` is the function
    monkeypatch.setattr(module, "thinned", partial(thinned, most=world.height // 2))
    model = train(world, AS_OF)
    assert model.cracks == world.height
    assert f"of the {world.height} cracks: whole jobs, drawn evenly" in model.notes[-1]
    monkeypatch.undo()
    assert not any("drawn evenly" in note for note in train(world, AS_OF).notes)

"""From the records to a model: checked on some of very many cracks, fitted to all."""

from collections.abc import Callable
from datetime import date
from functools import partial
from importlib import import_module

import numpy as np
import polars as pl
import pytest

from analytics.risk import Penalties, choose, exposure, fit, risk, train
from analytics.risk.crossfit import cross_fit
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


def test_cracks_that_stand_for_others_move_the_median_risk_by_under_two_per_cent_and_say_how_sure(
    simulate: Simulate, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Errors are those of all cracks times the root of (1 + 1/m) / (1 + 1/M), m and M others a leak-back, for
    small effects (Ury 1975)."""
    world, penalties = simulate(20_000, 2), Penalties(16.0, 16.0)
    whole = fit(world, AS_OF, penalties)
    leaked = int(world["leaked_back"].sum())
    monkeypatch.setattr(exposure, "MOST_OTHERS", (world.height - leaked) // 2)
    monkeypatch.setattr(exposure, "OTHERS_A_LEAK_BACK", 1)
    some = fit(world, AS_OF, penalties)
    assert some.cracks == whole.cracks == world.height
    assert f"all {leaked} leak-backs and" in some.notes[-1]
    ours, all_of_them = (risk(model, world, 24)["risk"].to_numpy() for model in (some, whole))
    assert np.median(np.abs(ours / all_of_them - 1)) < 0.02
    errors = [np.sqrt(np.diag(np.array(model.covariance))) for model in (some, whole)]
    others = (world.height - leaked) / leaked
    assert np.median(errors[0] / errors[1]) == pytest.approx(np.sqrt((1 + 2 / others) / (1 + 1 / others)), abs=0.03)


def test_what_others_are_expected_to_leak_back_rests_on_those_that_stand_for_all(
    simulate: Simulate, monkeypatch: pytest.MonkeyPatch
) -> None:
    world, penalties = simulate(20_000, 2), Penalties(16.0, 16.0)
    ages = np.full(world.height, 730.5)
    of_all = cross_fit(world, penalties).until(ages)
    monkeypatch.setattr(exposure, "MOST_OTHERS", world.filter(~pl.col("leaked_back")).height // 2)
    monkeypatch.setattr(exposure, "OTHERS_A_LEAK_BACK", 1)
    of_some = cross_fit(world, penalties).until(ages)
    assert not np.array_equal(of_some, of_all)
    assert np.median(np.abs(of_some / of_all - 1)) < 0.03  # a twentieth of the leak-backs that are ever looked at so

"""Worlds whose true hazards are known: the model finds them, and its intervals hold them."""

from collections.abc import Callable
from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.risk import HazardModel, Penalties, choose, fit, risk
from analytics.risk.features import STEPS

AS_OF = date(2025, 6, 30)
TRUE_HAZARD_24 = 0.060 * 91 / 365.25 + 0.042 * 274 / 365.25 + 0.021 * 365 / 365.25
EFFECTS = {
    "log_width": 0.45,
    "length": 0.10,
    "water_damp": 0.30,
    "water_seeping": 0.70,
    "water_running": 0.90,
    "season_spring": 0.20,
    "urethane_foam": -0.35,
    "wide_spacing": 0.35,
    "dried": -0.40,
}
SEEDS = (1, 2, 3)


@pytest.fixture(scope="module")
def worlds(simulate: Callable[..., pl.DataFrame]) -> list[tuple[pl.DataFrame, HazardModel]]:
    """Worlds and the models fitted to them with penalties chosen out of time."""
    frames = [simulate(2500, seed) for seed in SEEDS]
    return [(frame, fit(frame, AS_OF, choose(frame))) for frame in frames]


def _true(frame: pl.DataFrame) -> np.ndarray:
    chance: np.ndarray = 1 - np.exp(-TRUE_HAZARD_24 * np.exp(frame["true_log"].to_numpy()))
    return chance


def test_the_mean_risk_is_the_true_one(worlds: list[tuple[pl.DataFrame, HazardModel]]) -> None:
    for frame, model in worlds:
        assert 0.93 < risk(model, frame, 24)["risk"].mean() / _true(frame).mean() < 1.07


def test_95_percent_intervals_of_risks_hold_the_truth(worlds: list[tuple[pl.DataFrame, HazardModel]]) -> None:
    held = [(frame.select("true_log"), risk(model, frame, 24, promised=STEPS), _true(frame)) for frame, model in worlds]
    shares = [np.mean((r["low"].to_numpy() <= true) & (true <= r["high"].to_numpy())) for _, r, true in held]
    assert 0.90 < np.mean(shares) < 0.995


def test_light_penalties_give_the_true_effects(simulate: Callable[..., pl.DataFrame]) -> None:
    inside = []
    for seed in SEEDS:
        model = fit(simulate(2500, seed), AS_OF, Penalties(features=1.0, crews=4.0))
        spread = np.sqrt(np.diag(np.array(model.covariance)))[len(model.edges_days) :]
        for place, name in enumerate(model.scaling.features):
            scale, true = model.scaling.scales[place], EFFECTS.get(name, 0.0)
            inside.append(abs(model.effects[place] / scale - true) <= 1.96 * spread[place] / scale)
    assert len(inside) > 70
    assert 0.90 < np.mean(inside) <= 0.995


def test_the_risk_ranks_and_measures_cracks(worlds: list[tuple[pl.DataFrame, HazardModel]]) -> None:
    off = [
        np.sqrt(np.mean((risk(model, frame, 24, promised=STEPS)["risk"].to_numpy() - _true(frame)) ** 2))
        for frame, model in worlds
    ]
    flat = [_true(frame).std() for frame, _ in worlds]  # the best that one risk for all can do
    assert np.mean(off) < 0.65 * np.mean(flat)


def test_the_bad_crew_is_seen_and_the_level_ones_are_not_blamed(
    worlds: list[tuple[pl.DataFrame, HazardModel]],
) -> None:
    for _, model in worlds:
        crews = dict(zip(model.scaling.crews, model.effects[len(model.scaling.features) :], strict=True))
        assert max(crews, key=lambda crew: crews[crew]) == "C-5"
        assert crews["C-5"] > 0.1

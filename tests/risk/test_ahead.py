"""Leak-backs foreseen of repairs that have held so far: the sums, and how sure they are said to be."""

from collections.abc import Collection
from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from analytics.risk import Ahead, Foreseen, HazardModel, cumulative, predict
from analytics.risk import ahead as looking_ahead
from analytics.risk.features import STEPS
from analytics.risk.scaling import Encoded


def ahead(model: HazardModel, cracks: pl.DataFrame) -> Ahead:
    """A year, then three more, from the ages at which the cracks stand."""
    age = cracks["watched_days"].to_numpy()
    return Ahead(model, cracks, age, age + 1460.0, np.array([365.0, 1460.0]))


@pytest.fixture(scope="module")
def cracks(world: pl.DataFrame) -> pl.DataFrame:
    return world.filter(~pl.col("leaked_back")).head(400)


def altogether(found: Ahead) -> Foreseen:
    return found.altogether_and_by_group(np.zeros(400, dtype=np.int64), 1)[0]


def test_chances_are_those_of_the_hazard_between_two_ages(model: HazardModel, cracks: pl.DataFrame) -> None:
    age = cracks["watched_days"].to_numpy()
    hazard = np.exp(cumulative(model, cracks, age, age + 1460, STEPS).log)
    assert ahead(model, cracks).chances[:, 1] == pytest.approx(1 - np.exp(-hazard))


def test_spans_and_groups_add_up_to_the_whole(model: HazardModel, cracks: pl.DataFrame) -> None:
    found = ahead(model, cracks)
    whole = altogether(found).expected[0]
    assert whole == pytest.approx(found.chances[:, -1].sum())
    assert found.between_ages().expected.sum() == pytest.approx(whole)
    every, by_group = found.altogether_and_by_group(np.arange(400) % 7, 7)
    assert every.expected[0] == pytest.approx(whole)
    assert by_group.expected.tolist() == found.by_group(np.arange(400) % 7, 7).expected.tolist()
    assert by_group.expected.sum() == pytest.approx(whole)


def test_a_few_cracks_at_a_time_come_to_the_same(
    model: HazardModel, cracks: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    def told() -> list[Foreseen]:
        found = ahead(model, cracks)
        return [found.between_ages(), found.by_group(np.arange(400) % 7, 7), altogether(found)]

    whole = told()
    monkeypatch.setattr(looking_ahead, "AT_ONCE", 7)
    for one, other in zip(whole, told(), strict=True):
        assert other.expected == pytest.approx(one.expected)
        assert other.squares == pytest.approx(one.squares)
        assert other.covariance == pytest.approx(one.covariance)


def test_the_variance_is_that_of_the_parameters_to_first_order(model: HazardModel, cracks: pl.DataFrame) -> None:
    step = 1e-5
    parameters = np.array(model.parameters)
    slopes = []
    for place in range(len(parameters)):
        sums = []
        for side in (-step, step):
            moved = parameters.copy()
            moved[place] += side
            sums.append(np.log(ahead(replace(model, parameters=tuple(moved)), cracks).between_ages().expected))
        slopes.append((sums[1] - sums[0]) / (2 * step))
    numeric = np.array(slopes).T
    expected = numeric @ np.array(model.covariance) @ numeric.T
    assert ahead(model, cracks).between_ages().covariance == pytest.approx(expected, rel=1e-4)


def test_draws_have_the_mean_and_the_variance_of_both_sources(model: HazardModel, cracks: pl.DataFrame) -> None:
    found = altogether(ahead(model, cracks))
    drawn = found.draws(np.random.default_rng(1), 40_000)[:, 0]
    mean = found.expected[0]
    variance = mean - found.squares[0] + mean**2 * found.covariance[0, 0]
    assert drawn.mean() == pytest.approx(mean, rel=0.02)
    assert drawn.std() == pytest.approx(np.sqrt(variance), rel=0.03)


def test_nothing_ahead_is_nothing_drawn(model: HazardModel, cracks: pl.DataFrame) -> None:
    age = cracks["watched_days"].to_numpy()
    found = Ahead(model, cracks, age, age + 365, np.array([0.0, 365.0])).between_ages()
    assert found.expected[0] == 0
    assert not found.draws(np.random.default_rng(1), 100)[:, 0].any()


def test_the_columns_of_some_cracks_only_are_held_at_once(
    model: HazardModel, cracks: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []

    def seen(model: HazardModel, some: pl.DataFrame, steps: Collection[str]) -> Encoded:
        asked.append(some.height)
        return predict.encoded(model, some, steps)

    monkeypatch.setattr(looking_ahead, "encoded", seen)
    monkeypatch.setattr(looking_ahead, "AT_ONCE", 300)
    ahead(model, cracks).between_ages()
    assert asked == [150, 150, 100]

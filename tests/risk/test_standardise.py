"""The same cracks under another choice: by hand, and against worlds whose truth is known."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.risk import HazardModel, Means, case_mix, fit_lightly, risk, standardise
from analytics.risk.features import STEPS
from analytics.risk.standardise import under_each
from analytics.stats import slices
from analytics.stats.sampling import Sample

LAST = date(2025, 6, 30)
RESINS = ("epoxy", "urethane_foam")
SEASONS = ("winter", "spring", "summer", "autumn")
HAZARD_24 = 0.060 * 91 / 365.25 + 0.042 * 274 / 365.25 + 0.021 * 365 / 365.25


def mean_risks(model: HazardModel, cracks: pl.DataFrame, column: str, values: Sequence[str], months: int) -> Means:
    """The mean risks of all cracks, had ``column`` been each of ``values`` on them."""
    (summed,) = under_each(model, cracks, column, values, months, Sample.whole(cracks.height))
    return standardise.means(model, summed)


@pytest.fixture(scope="module")
def light(world: pl.DataFrame) -> HazardModel:
    return fit_lightly(world, LAST)


def test_a_mean_is_that_of_the_risks_of_the_changed_cracks(light: HazardModel, world: pl.DataFrame) -> None:
    means = mean_risks(light, world, "resin", RESINS, 24)
    for place, resin in enumerate(RESINS):
        changed = world.with_columns(resin=pl.lit(resin))
        by_hand = risk(light, changed, 24, promised=STEPS)["risk"].mean()
        assert means.risks[place] == pytest.approx(by_hand, rel=1e-9)


def test_cracks_are_summed_up_slice_by_slice_as_they_are_at_once(
    light: HazardModel, world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    cracks = world.head(300)
    kinds = Sample.joined(
        Sample(np.arange(start, stop), np.full(stop - start, start), np.full(stop - start, 1.5))
        for start, stop in ((0, 100), (100, 101), (101, 300))
    )
    whole = under_each(light, cracks, "season", SEASONS, 24, kinds)
    monkeypatch.setattr(slices, "SLICE", 70)
    sliced = under_each(light, cracks, "season", SEASONS, 24, kinds)
    assert [each.cracks for each in whole] == [150, 1.5, 298.5]
    for one, other in zip(whole, sliced, strict=True):
        for mine, theirs in zip(vars(one).values(), vars(other).values(), strict=True):
            assert mine == pytest.approx(theirs, rel=1e-12)
    (last,) = under_each(light, cracks[101:], "season", SEASONS, 24, Sample.whole(199))
    assert whole[2].slopes == pytest.approx(1.5 * last.slopes, rel=1e-12)
    assert whole[2].facts == pytest.approx(1.5 * last.facts, rel=1e-12)


def test_the_covariance_is_that_of_refitted_parameters_to_first_order(light: HazardModel, world: pl.DataFrame) -> None:
    """The change of each mean along one parameter, by a small step."""
    means = mean_risks(light, world, "resin", RESINS, 24)
    covariance = np.array(light.covariance)
    slopes = np.zeros((2, len(light.parameters)))
    for place in range(len(light.parameters)):
        parameters = list(light.parameters)
        parameters[place] += 1e-5
        moved = replace(light, parameters=tuple(parameters))
        stepped = [risk(moved, world.with_columns(resin=pl.lit(r)), 24, promised=STEPS)["risk"].mean() for r in RESINS]
        slopes[:, place] = (np.array(stepped) - means.risks) / 1e-5
    assert means.covariance == pytest.approx(slopes @ covariance @ slopes.T, rel=5e-3)


def test_contrasts_of_two_turn_over() -> None:
    means = Means(np.array([0.08, 0.06]), np.diag([1e-4, 4e-5]))
    assert means.difference(1, 0.95).value == pytest.approx(-means.difference(0, 0.95).value)
    assert means.ratio(1, 0.9).value == pytest.approx(1 / means.ratio(0, 0.9).value)
    assert means.ratio(1, 0.9).low == pytest.approx(1 / means.ratio(0, 0.9).high)
    assert means.p_value(0) == pytest.approx(means.p_value(1))


def test_contrasts_of_several_are_with_the_mean_of_the_others_and_balance() -> None:
    means = Means(np.array([0.08, 0.06, 0.1, 0.04]), np.eye(4) * 1e-4)
    assert means.difference(2, 0.95).value == pytest.approx(0.1 - 0.06)
    assert sum(means.difference(place, 0.95).value for place in range(4)) == pytest.approx(0)


def test_a_p_value_and_its_interval_agree() -> None:
    for wide in (1e-4, 4e-4, 1e-3):
        means = Means(np.array([0.08, 0.06]), np.diag([wide, wide / 2]))
        ratio = means.ratio(1, 0.95)
        assert (means.p_value(1) < 0.05) == (not ratio.low <= 1 <= ratio.high)


def test_intervals_of_the_difference_hold_the_truth(simulate: Callable[..., pl.DataFrame]) -> None:
    """In this world foam helps by exp(-0.35) and spring hurts by exp(0.2), whatever the water."""
    held = []
    for seed in range(40, 50):
        frame = simulate(2000, seed)
        light = fit_lightly(frame, LAST)
        foam, spring = (frame["resin"] == "urethane_foam").to_numpy(), (frame["season"] == "spring").to_numpy()
        log = frame["true_log"].to_numpy()
        plain = log + 0.35 * foam - 0.2 * spring

        def true(extra: np.ndarray | float, plain: np.ndarray = plain) -> float:
            return float((1 - np.exp(-HAZARD_24 * np.exp(plain + extra))).mean())

        resins = mean_risks(light, frame, "resin", RESINS, 24).difference(1, 0.95)
        seasons = mean_risks(light, frame, "season", SEASONS, 24).difference(1, 0.95)
        by_resin = true(-0.35 + 0.2 * spring) - true(0.2 * spring)
        by_season = true(0.2 - 0.35 * foam) - true(-0.35 * foam)
        held += [resins.low <= by_resin <= resins.high, seasons.low <= by_season <= seasons.high]
    assert np.mean(held) >= 0.85


def test_the_plain_rates_have_it_the_wrong_way_round_or_flattered(light: HazardModel, world: pl.DataFrame) -> None:
    means = mean_risks(light, world, "resin", RESINS, 24)
    own = [risk(light, world.filter(resin=resin), 24, promised=STEPS)["risk"].mean() for resin in RESINS]
    assert own[1] / own[0] > 1.25 * means.risks[1] / means.risks[0]  # type: ignore[operator]


def test_foam_goes_to_the_wet_cracks_and_the_case_mix_says_so(light: HazardModel, world: pl.DataFrame) -> None:
    (summed,) = under_each(light, world, "resin", RESINS, 24, Sample.whole(world.height))
    foam, epoxy = (case_mix(light, summed, "resin", place) for place in (1, 0))
    assert max(foam, key=lambda name: foam[name]) == "water"
    assert foam["water"] > 0.2
    assert {name: -part for name, part in epoxy.items()} == pytest.approx(foam)
    assert not {"resin", "epoxy_on_wet", "epoxy_on_cold"} & set(foam)

"""The hazard model says what was seen, and refuses where too little was."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.errors import TooFewError
from analytics.risk import FEATURES, FEWEST_LEAK_BACKS, HazardModel, Penalties, expected, fit, risk
from analytics.risk.exposure import by_band
from analytics.risk.features import STEPS
from analytics.risk.predict import cumulative

AS_OF = date(2025, 6, 30)
PENALTIES = Penalties(features=16.0, crews=16.0)


@pytest.mark.parametrize("penalty", [1.0, 64.0, 1e4])
def test_expected_leak_backs_are_the_observed_ones_in_total_and_in_every_age_band(
    world: pl.DataFrame, penalty: float
) -> None:
    model = fit(world, AS_OF, Penalties(features=penalty, crews=penalty))
    observed = by_band(world, model.edges_days)[1].sum(axis=0)
    assert expected(model, world)["expected"].sum() == pytest.approx(observed.sum(), rel=1e-6)
    ends = [*model.edges_days[1:], np.inf]
    for band, leaked in enumerate(observed):
        start, end = float(model.edges_days[band]), float(ends[band])
        watched = world.filter(pl.col("watched_days") > start)
        until = watched["watched_days"].clip(upper_bound=end).to_numpy()
        foreseen = np.exp(cumulative(model, watched, start, until, promised=STEPS).log)
        assert foreseen.sum() == pytest.approx(leaked, rel=1e-3)


def test_too_few_leak_backs_are_refused_with_how_many_more_would_do(world: pl.DataFrame) -> None:
    few = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 41))
    with pytest.raises(
        TooFewError, match=rf"^41 leak-backs among {world.height} cracks watched so far: .* needs 50, 9 more\.$"
    ):
        fit(few, AS_OF, PENALTIES)
    assert FEWEST_LEAK_BACKS == 50


def test_leak_backs_all_of_one_age_are_refused(world: pl.DataFrame) -> None:
    young = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("watched_days") <= 91))
    with pytest.raises(TooFewError, match="all of about one age"):
        fit(young, AS_OF, PENALTIES)


def test_an_age_without_leak_backs_is_joined_and_said_so(world: pl.DataFrame) -> None:
    quiet = world.with_columns(leaked_back=pl.col("leaked_back") & ~pl.col("watched_days").is_between(365.5, 730))
    model = fit(quiet, AS_OF, PENALTIES)
    assert model.edges_days == (0, 91, 730)
    assert "12 to 24 months" in model.notes[0]
    assert np.isfinite(model.parameters).all()


def test_the_order_of_rows_does_not_change_a_risk(world: pl.DataFrame, model: HazardModel) -> None:
    mixed = fit(world.sample(fraction=1, shuffle=True, seed=1), AS_OF, PENALTIES)
    assert risk(mixed, world, 24)["risk"].to_numpy() == pytest.approx(risk(model, world, 24)["risk"].to_numpy(), 1e-6)
    assert risk(mixed, world, 24)["low"].to_numpy() == pytest.approx(risk(model, world, 24)["low"].to_numpy(), 1e-6)


def test_the_names_of_crews_do_not_change_a_risk(world: pl.DataFrame, model: HazardModel) -> None:
    names = {"C-1": "z", "C-2": "y", "C-3": "x", "C-4": "b", "C-5": "a", "C-6": "m"}
    renamed = world.with_columns(pl.col("crew_id").replace_strict(names))
    other = risk(fit(renamed, AS_OF, PENALTIES), renamed, 24)
    for column in ("risk", "low", "high"):
        assert other[column].to_numpy() == pytest.approx(risk(model, world, 24)[column].to_numpy(), rel=1e-6)


def test_handed_features_alone_leave_resin_and_crew_out(world: pl.DataFrame) -> None:
    handed = tuple(feature for feature in FEATURES if feature.kind == "handed")
    model = fit(world, AS_OF, PENALTIES, handed, with_crews=False)
    other = world.with_columns(resin=pl.lit("epoxy"), crew_id=pl.lit("C-9"))
    assert risk(model, other, 24).equals(risk(model, world, 24))


def test_without_features_and_crews_it_is_the_base_rate(world: pl.DataFrame) -> None:
    model = fit(world, AS_OF, PENALTIES, (), with_crews=False)
    risks = risk(model, world, 12)["risk"].to_numpy()
    assert model.chosen == "base_rate"
    assert np.ptp(risks) == 0
    years, leaked = by_band(world, (0, 91, 365))
    yearly = leaked.sum(axis=0) / years.sum(axis=0)
    by_hand = 1 - np.exp(-(yearly[0] * 91 + yearly[1] * (365 - 91)) / 365.25)
    assert risks[0] == pytest.approx(by_hand, rel=1e-6)


def test_the_model_tells_what_it_was_fitted_on(world: pl.DataFrame, model: HazardModel) -> None:
    assert model.cracks == world.height
    assert model.leak_backs == world["leaked_back"].sum()
    assert (model.first_done_on, model.last_done_on) == (world["done_on"].min(), world["done_on"].max())
    assert set(model.versions) == {"numpy", "polars", "scikit-learn"}


def test_a_yes_no_told_by_few_cracks_is_left_out(world: pl.DataFrame, model: HazardModel) -> None:
    assert "direction_stepped" in model.scaling.features
    rare = world.with_columns(
        direction=pl.when(pl.col("direction") != "stepped").then("direction").otherwise(pl.lit("vertical"))
    ).with_columns(direction=pl.when(pl.int_range(pl.len()) < 29).then(pl.lit("stepped")).otherwise("direction"))
    assert "direction_stepped" not in fit(rare, AS_OF, PENALTIES).scaling.features


def test_enough_blank_measurements_become_a_feature_of_their_own(world: pl.DataFrame, model: HazardModel) -> None:
    assert "width_mm_not_recorded" not in model.scaling.features
    blank = world.with_columns(width_mm=pl.when(pl.int_range(pl.len()) % 50 != 0).then("width_mm"))
    assert "width_mm_not_recorded" in fit(blank, AS_OF, PENALTIES).scaling.features

"""The truth is what it says: its closed form, its features, and that what is drawn follows it."""

from dataclasses import fields, replace
from itertools import combinations

import numpy as np
import polars as pl
import pytest

from analytics.contract.tables import TABLES
from analytics.demo import TRUTH, LogHazardRatios, World, log_hazard, true_risk, world
from analytics.demo.truth import FEATURES, STEPS, age_years, baseline_hazard


def crack(**values: object) -> pl.DataFrame:
    """One reference crack, changed by ``values``."""
    reference: dict[str, object] = {
        "crew_id": "C01",
        "access": "open",
        "length_m": 2.0,
        "width_mm": 0.5,
        "wall_thickness_mm": 200.0,
        "direction": "vertical",
        "water": "dry",
        "movement": "still",
        "resin": "epoxy",
        "wall_temp_c": 14.0,
        "port_spacing_mm": 200.0,
        "cleaned": False,
        "dried": False,
        "water_tested": False,
    }
    kinds = {str: pl.String, float: pl.Float64, bool: pl.Boolean}
    schema = {name: kinds[type(value)] for name, value in reference.items()}
    return pl.DataFrame([reference | values], schema=schema)


WET = {"width_mm": 1.6, "length_m": 3.0, "water": "running", "movement": "seasonal", "crew_id": "C05"}


def test_each_feature_has_its_ratio() -> None:
    assert list(FEATURES) == [field.name for field in fields(LogHazardRatios)]


def test_nothing_that_happens_after_the_injection_is_a_feature() -> None:
    read = {name for feature in FEATURES.values() for name in feature.meta.root_names()}
    assert read <= {*TABLES["cracks"].columns(), "access"} - {"port_count", "resin_litres", "labour_minutes"}


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({}, 0.0),
        ({"width_mm": 1.0}, 0.45 * np.log(2)),
        ({"length_m": 0.5}, -0.12),
        ({"water": "running", "resin": "epoxy"}, 0.95 + 0.55),
        ({"water": "running", "resin": "urethane_foam"}, 0.95 - 0.10),
        ({"water": "damp", "resin": "epoxy"}, 0.30),
        ({"movement": None}, 0.10),
        ({"wall_temp_c": 10.0}, 0.0),
        ({"wall_temp_c": 9.0}, 0.25),
        ({"wall_temp_c": None}, 0.0),
        ({"port_spacing_mm": 225.0}, 0.40),
        ({"crew_id": "C05"}, 0.75),
        ({"crew_id": None}, 0.0),
        ({"cleaned": True, "dried": True, "water_tested": True}, -0.70),
    ],
)
def test_log_hazard_by_hand(values: dict[str, object], expected: float) -> None:
    assert log_hazard(crack(**values)) == pytest.approx([expected], abs=1e-12)


def test_baseline_adds_up_over_the_age_bands_and_its_last_band_goes_on() -> None:
    first, second, third, fourth, last = TRUTH.baseline_per_year
    at_24 = 0.25 * first + 0.75 * second + third
    assert baseline_hazard(24) == pytest.approx(at_24)
    assert baseline_hazard(120) == pytest.approx(at_24 + 3 * fourth + 5 * last)
    assert age_years(np.array([0.0, at_24, 1e9])) == pytest.approx([0.0, 2.0, np.inf])


@pytest.mark.parametrize("values", [{}, WET])
def test_closed_form_agrees_with_drawing_the_frailty(values: dict[str, object]) -> None:
    draws = 400_000
    frailty = np.random.default_rng(5).gamma(1 / 0.15, 0.15, draws)
    hazard = baseline_hazard(60) * np.exp(log_hazard(crack(**values)))[0]
    leaks = np.random.default_rng(6).exponential(1, draws) < frailty * hazard
    assert true_risk(crack(**values), 60)[0] == pytest.approx(leaks.mean(), abs=4 * leaks.std() / np.sqrt(draws))


def test_without_frailty_the_risk_is_that_of_the_hazard_alone() -> None:
    calm = replace(TRUTH, frailty_variance=0.0)
    expected = 1 - np.exp(-baseline_hazard(24) * np.exp(log_hazard(crack(**WET))))
    assert true_risk(crack(**WET), 24, calm) == pytest.approx(expected)
    assert true_risk(crack(**WET), 24, replace(TRUTH, frailty_variance=1e-6)) == pytest.approx(expected, rel=1e-5)


def test_steps_not_yet_done_are_averaged_over_the_crew_s_habit() -> None:
    habits = next(crew.habits for crew in TRUTH.crews if crew.code == "C05")
    done = np.random.default_rng(7).random((100_000, 3)) < habits
    many = pl.concat([crack(**WET)] * len(done)).with_columns(
        pl.Series(name, done[:, place]) for place, name in enumerate(STEPS)
    )
    drawn = true_risk(many, 24)
    blank = crack(**WET, cleaned=None, dried=None, water_tested=None)
    assert true_risk(blank, 24)[0] == pytest.approx(drawn.mean(), abs=4 * drawn.std() / np.sqrt(len(done)))
    assert true_risk(blank.drop(STEPS), 24) == pytest.approx(true_risk(blank, 24))


def test_risk_grows_with_age_and_stays_a_share() -> None:
    risks = [true_risk(crack(**WET), months)[0] for months in (0, 1, 12, 24, 60, 120, 1200)]
    assert risks[0] == 0
    assert risks == sorted(risks)
    assert risks[-1] < 1


@pytest.fixture(scope="module")
def large() -> World:
    return world(seed=3, n_jobs=40_000)


@pytest.mark.parametrize("months", [12, 60])
@pytest.mark.parametrize("column", ["water", "resin", "movement", "crew_id", "dried"])
def test_what_is_drawn_leaks_back_as_often_as_is_true(large: World, column: str, months: int) -> None:
    cracks = large.cracks.with_columns(
        risk=pl.Series(true_risk(large.cracks, months)), leaks=pl.col("leaks_after_days") <= months * 365.25 / 12
    )
    groups = cracks.group_by(column).agg(
        pl.col("leaks").sum().cast(pl.Float64),
        pl.col("risk").sum(),
        spread=(pl.col("risk") * (1 - pl.col("risk"))).sum(),
    )
    # Frailty shared within jobs widens the spread by a few hundredths; 4.5 leaves room for it and for many groups.
    off = (groups["leaks"] - groups["risk"]) / groups["spread"].sqrt()
    assert groups.height > 1
    assert off.abs().max() < 4.5  # type: ignore[operator]


def test_cracks_of_one_job_share_their_frailty(large: World) -> None:
    """Pairs that both leak back within five years, against E[(1-e^-Za)(1-e^-Zb)] over the gamma frailty Z."""
    gathered = baseline_hazard(60)
    cracks = large.cracks.select(
        "job_id", hazard=gathered * pl.col("log_hazard").exp(), leaks=pl.col("leaks_after_days") <= 5 * 365.25
    )
    pairs = [
        (a, b)
        for (_,), job in cracks.filter(pl.len().over("job_id") > 1).group_by("job_id")
        for a, b in combinations(job.drop("job_id").rows(), 2)
    ]
    one, two = np.array([a[0] for a, _ in pairs]), np.array([b[0] for _, b in pairs])
    both = np.array([a[1] and b[1] for a, b in pairs])

    def held(hazard: np.ndarray) -> np.ndarray:
        return (1 + 0.15 * hazard) ** (-1 / 0.15)

    shared = 1 - held(one) - held(two) + held(one + two)
    apart = (1 - held(one)) * (1 - held(two))
    spread = np.sqrt((shared * (1 - shared)).sum())
    assert abs(both.sum() - shared.sum()) < 4 * spread
    assert both.sum() > apart.sum() + 1.5 * spread

"""The fitting core against published survival data: a Poisson regression on age bands is a hazard model."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from numpy.typing import NDArray
from sklearn.linear_model import PoissonRegressor

from analytics.risk import poisson
from analytics.risk.exposure import by_band
from analytics.risk.poisson import Array, PoissonFit, covariance, fit_poisson
from analytics.stats.threads import one_thread

ROSSI = Path(__file__).parent.parent / "reference" / "rossi.csv"
COVARIATES = ("fin", "age", "race", "wexp", "mar", "paro", "prio")
DAYS_PER_YEAR = 365.25


def _table(cracks: pl.DataFrame, covariates: Sequence[str], edges: Sequence[float]) -> tuple[Array, Array, Array]:
    """Columns, and by band events and exposure in the unit of the times."""
    years, leaked = by_band(cracks, edges)
    return cracks.select(covariates).to_numpy().astype(np.float64), leaked, years * DAYS_PER_YEAR


@pytest.fixture(scope="module")
def rossi() -> pl.DataFrame:
    """432 men after prison, 114 arrested again within 52 weeks (Rossi, Berk and Lenihan 1980)."""
    return pl.read_csv(ROSSI).with_columns(
        watched_days=pl.col("week").cast(pl.Float64), leaked_back=pl.col("arrest") == 1
    )


def _fit(rossi: pl.DataFrame, edges: Sequence[float], penalty: float) -> tuple[PoissonFit, Array, Array]:
    x, events, exposure = _table(rossi, COVARIATES, edges)
    fitted = fit_poisson(x, events, exposure, np.full(len(edges) - 1 + x.shape[1], penalty))
    return fitted, events, fitted.expected(x, exposure)


def test_four_bands_without_penalty(rossi: pl.DataFrame) -> None:
    # statsmodels GLM with offset, and sklearn at alpha 0
    fitted, events, expected = _fit(rossi, (0, 13, 26, 39), 0.0)
    assert fitted.intercept == pytest.approx(-4.54281, abs=2e-5)
    expected_bands, expected_effects = (
        [0.63188, 0.50678, 0.82019],
        [-0.37735, -0.05700, 0.31259, -0.14890, -0.43311, -0.08362, 0.09087],
    )
    assert fitted.coefficients == pytest.approx([*expected_bands, *expected_effects], abs=2e-5)
    assert events.sum() == 114
    assert expected.sum() == pytest.approx(114, rel=1e-8)


def test_a_penalty_of_five(rossi: pl.DataFrame) -> None:
    # direct optimisation of the penalised likelihood, and sklearn at alpha = 5 / exposure
    fitted, _, expected = _fit(rossi, (0, 13, 26, 39), 5.0)
    assert fitted.intercept == pytest.approx(-4.22498, abs=2e-5)
    effects = [-0.30894, -0.05866, 0.21771, -0.13987, -0.26758, -0.07110, 0.08834]
    assert fitted.coefficients[3:] == pytest.approx(effects, abs=2e-5)
    assert expected.sum() == pytest.approx(114, rel=1e-8)


def test_a_band_at_every_arrest_is_cox_regression(rossi: pl.DataFrame) -> None:
    weeks = rossi.filter("leaked_back")["week"].unique().sort().to_list()
    with one_thread():
        fitted, _, _ = _fit(rossi, (0, *weeks[:-1]), 0.0)
    # R coxph, ties = "breslow"
    breslow = [-0.3790219, -0.0572459, 0.3141298, -0.1511146, -0.4327826, -0.0849828, 0.0911115]
    assert fitted.coefficients[-7:] == pytest.approx(breslow, abs=2e-6)
    # Efron's handling of ties, as published: Allison, Survival Analysis Using SAS; lifelines' load_rossi
    efron = [-0.379422, -0.057438, 0.313900, -0.149796, -0.433704, -0.084871, 0.091497]
    assert fitted.coefficients[-7:] == pytest.approx(efron, abs=0.02)


def test_one_band_on_the_leukaemia_trial() -> None:
    # Freireich et al. 1963, in Cox and Oakes 1984: 9 relapses in 359 weeks on 6-MP, 21 in 182 on placebo
    treated = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
    relapsed = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
    placebo = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
    exposure = np.array([*treated, *placebo], dtype=np.float64)
    events = np.array([*relapsed, *[1] * len(placebo)], dtype=np.float64)
    on_placebo = np.repeat([0.0, 1.0], [len(treated), len(placebo)])[:, None]
    fitted = fit_poisson(on_placebo, events, exposure, np.zeros(1))
    assert fitted.coefficients[0] == pytest.approx(1.5266, abs=5e-5)
    assert fitted.coefficients[0] == pytest.approx(np.log((21 / 182) / (9 / 359)), abs=1e-6)


def _groups(seed: int = 3) -> tuple[Array, Array, Array, np.ndarray]:
    rng = np.random.default_rng(seed)
    clusters = rng.integers(0, 60, 300)
    x = np.column_stack([rng.normal(size=300), rng.random(300) < 0.2]).astype(np.float64)
    exposure = rng.uniform(0.5, 3, 300)
    events = rng.poisson(0.3 * exposure * np.exp(x @ [0.4, -0.2])).astype(np.float64)
    return x, events, exposure, clusters


def test_covariance_agrees_with_a_loop_over_clusters() -> None:
    x, events, exposure, clusters = _groups()
    penalties = np.array([2.0, 7.0])
    fitted = fit_poisson(x, events, exposure, penalties)
    design = np.column_stack([np.ones(300), x])
    mean = exposure * fitted.rates(x)
    prior = np.diag([0.0, 2.0, 7.0])
    bread = np.linalg.inv(sum(m * np.outer(row, row) for m, row in zip(mean, design, strict=True)) + prior)
    between = np.zeros((3, 3))
    names = np.unique(clusters)
    for name in names:
        score = sum(design[row] * (events[row] - mean[row]) for row in np.flatnonzero(clusters == name))
        between += np.outer(score, score)
    by_hand = bread @ (between * len(names) / (len(names) - 1) + prior) @ bread
    assert covariance(fitted, x, events, exposure, penalties, clusters) == pytest.approx(by_hand, rel=1e-8)


def test_a_very_heavy_penalty_leaves_the_priors_variance() -> None:
    x, events, exposure, clusters = _groups()
    penalties = np.array([0.0, 1e6])
    spread = covariance(fit_poisson(x, events, exposure, penalties), x, events, exposure, penalties, clusters)
    assert spread[2, 2] == pytest.approx(1e-6, rel=1e-3)


def test_the_same_rows_again_in_their_clusters_tell_nothing_new() -> None:
    x, events, exposure, _ = _groups()
    none, alone, twice = np.zeros(2), np.arange(300), np.tile(np.arange(300), 2)
    once = covariance(fit_poisson(x, events, exposure, none), x, events, exposure, none, alone)
    x2, events2, exposure2 = np.tile(x, (2, 1)), np.tile(events, 2), np.tile(exposure, 2)
    doubled = covariance(fit_poisson(x2, events2, exposure2, none), x2, events2, exposure2, none, twice)
    assert doubled == pytest.approx(once, rel=1e-4)


def test_a_fit_that_starts_from_another_ends_where_it_would_have_ended() -> None:
    rng = np.random.default_rng(6)
    x, exposure = rng.normal(size=(400, 3)), rng.uniform(0.5, 2, 400)
    events = rng.poisson(exposure * np.exp(-1 + x @ [0.5, -0.2, 0.0])).astype(float)
    light, heavy = np.full(3, 1.0), np.full(3, 50.0)
    start = fit_poisson(x, events, exposure, light)
    warm, cold = fit_poisson(x, events, exposure, heavy, start), fit_poisson(x, events, exposure, heavy)
    assert warm.coefficients == pytest.approx(cold.coefficients, abs=1e-8)
    assert warm.intercept == pytest.approx(cold.intercept, abs=1e-8)


@pytest.mark.parametrize("late", [0.02, 1e-5])
def test_of_very_many_rows_a_fit_begins_at_a_part_and_ends_where_it_would_have_ended(
    late: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With so few events in a band that the part has none of them, it begins at one rate."""
    rng = np.random.default_rng(8)
    x = np.asfortranarray(rng.normal(size=(24_000, 3)))
    exposure = rng.uniform(0.5, 2, (24_000, 2)) * [1.0, late]
    events = rng.poisson(exposure * np.exp(-3 + x @ [0.8, -0.4, 0.0])[:, None]).astype(float)
    events[1, 1] += 1
    penalties = np.array([0.0, 4.0, 4.0, 4.0])
    whole = fit_poisson(x, events, exposure, penalties)
    monkeypatch.setattr(poisson, "_FEWEST_IN_PART", 2_000)
    part = poisson._of_a_part(x, events, exposure, penalties)
    assert (part is not None) is bool(events[::8, 1].any()) is (late == 0.02)
    assert fit_poisson(x, events, exposure, penalties).parameters == pytest.approx(whole.parameters, abs=1e-8)


@pytest.mark.parametrize("far", [100.0, 300.0, 1000.0, 1500.0, 5000.0])
def test_a_row_far_from_the_part_that_a_fit_begins_at_does_not_lead_it_astray(
    far: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the part's fit this row, not of it, would have more events than a number can hold."""
    rng = np.random.default_rng(8)
    x = np.asfortranarray(rng.normal(size=(24_000, 3)))
    x[1, 0] = far
    exposure = rng.uniform(0.5, 2, 24_000)
    events = rng.poisson(exposure * np.exp(-3 + np.clip(x, -5, 5) @ [0.8, -0.4, 0.0])).astype(float)
    penalties = np.full(3, 4.0)
    whole = fit_poisson(x, events, exposure, penalties)
    monkeypatch.setattr(poisson, "_FEWEST_IN_PART", 2_000)
    assert fit_poisson(x, events, exposure, penalties).parameters == pytest.approx(whole.parameters, abs=1e-7)
    seen = np.exp(whole.intercept + x @ whole.coefficients) * exposure
    assert seen.sum() == pytest.approx(events.sum(), rel=1e-9)
    assert x.T @ (events - seen) == pytest.approx(penalties * whole.coefficients, abs=1e-3)


@pytest.mark.parametrize("value", [np.nan, np.inf, 1e200, -1e200])
def test_a_start_that_is_no_fit_is_not_begun_at(value: float) -> None:
    x, events, exposure, _ = _groups()
    none = np.zeros(2)
    start = PoissonFit(np.full(3, value), curvature=np.full((3, 3), value))
    found = fit_poisson(x, events, exposure, none, start)
    assert found.parameters == pytest.approx(fit_poisson(x, events, exposure, none).parameters, abs=1e-8)


def test_a_curvature_of_other_rows_changes_nothing_but_the_time() -> None:
    rng = np.random.default_rng(9)
    x, exposure = rng.normal(size=(400, 3)), rng.uniform(0.5, 2, 400)
    events = rng.poisson(exposure * np.exp(-1 + x @ [0.5, -0.2, 0.0])).astype(float)
    penalties, far = np.full(3, 1.0), PoissonFit(np.array([4.0, -3.0, 3.0, 2.0]), curvature=np.diag([1e-3, 1, 1e4, 5]))
    found = fit_poisson(x, events, exposure, penalties, far)
    assert found.parameters == pytest.approx(fit_poisson(x, events, exposure, penalties).parameters, abs=1e-8)


def test_a_row_in_several_bands_is_a_row_a_band_with_its_dummies(rossi: pl.DataFrame) -> None:
    """One row a man against the same time written out a row a band, and against scikit-learn's own solver on that."""
    edges, penalty = (0, 13, 26, 39), 2.0
    x, events, exposure = _table(rossi, COVARIATES, edges)
    row, band = np.nonzero(exposure)
    out = np.hstack([np.eye(len(edges))[band][:, 1:], x[row]])
    penalties = np.full(out.shape[1], penalty)
    leaked, years, men = events[row, band], exposure[row, band], np.arange(len(x))
    once, written_out = fit_poisson(x, events, exposure, penalties), fit_poisson(out, leaked, years, penalties)
    assert once.parameters == pytest.approx(written_out.parameters, rel=1e-9)
    spread = covariance(once, x, events, exposure, penalties, men)
    assert spread == pytest.approx(covariance(written_out, out, leaked, years, penalties, men[row]), rel=1e-7)
    solver = PoissonRegressor(alpha=penalty / years.sum(), solver="newton-cholesky", tol=1e-12, max_iter=200)
    solver.fit(out, leaked / years, sample_weight=years)
    assert once.parameters == pytest.approx([solver.intercept_, *solver.coef_], rel=1e-8)


def test_a_few_clusters_at_a_time_come_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    x, events, exposure, _ = _groups()
    penalties, clusters = np.full(2, 3.0), np.random.default_rng(3).integers(0, 90, len(x))
    fitted = fit_poisson(x, events, exposure, penalties)
    whole = covariance(fitted, x, events, exposure, penalties, clusters)
    asked: list[int] = []

    def by_cluster(place: NDArray[np.int64], heads: Array, columns: Array) -> Array:
        asked.append(len(np.unique(place)))
        return summed(place, heads, columns)

    summed = poisson._by_cluster
    monkeypatch.setattr(poisson, "_by_cluster", by_cluster)
    monkeypatch.setattr(poisson, "CLUSTERS", 40)
    assert covariance(fitted, x, events, exposure, penalties, clusters) == pytest.approx(whole, rel=1e-12)
    assert max(asked) == 40

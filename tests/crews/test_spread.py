"""Variance between units, and cracks of one job that leak together."""

import numpy as np
import polars as pl
import pytest

from analytics.crews.spread import between_variance, clustering, drawn_in


def test_bcg_vaccine_trials() -> None:
    """Q 152.2330, tau squared 0.30876: 13 trials, log risk ratios, DerSimonian & Laird 1986.

    Data: Colditz et al., JAMA 271 (1994) 698, as in the R package metafor (dat.bcg); values reproduced with
    statsmodels' combine_effects(method_re="dl").
    """
    vaccinated = np.array([4, 6, 3, 62, 33, 180, 8, 505, 29, 17, 186, 5, 27])
    well = np.array([119, 300, 228, 13536, 5036, 1361, 2537, 87886, 7470, 1699, 50448, 2493, 16886])
    control = np.array([11, 29, 11, 248, 47, 372, 10, 499, 45, 65, 141, 3, 29])
    control_well = np.array([128, 274, 209, 12619, 5761, 1079, 619, 87892, 7232, 1600, 27197, 2338, 17825])
    log_ratio = np.log(vaccinated / (vaccinated + well)) - np.log(control / (control + control_well))
    variance = 1 / vaccinated - 1 / (vaccinated + well) + 1 / control - 1 / (control + control_well)
    pooled = (log_ratio / variance).sum() / (1 / variance).sum()
    z = (log_ratio - pooled) / np.sqrt(variance)
    assert (z**2).sum() == pytest.approx(152.2330, abs=5e-5)
    assert between_variance(z, variance) == pytest.approx(0.30876, abs=5e-6)
    again = 1 / (variance + between_variance(z, variance))
    assert (again * log_ratio).sum() / again.sum() == pytest.approx(-0.71412, abs=5e-6)


def test_no_spread_is_found_where_there_is_none_and_most_of_it_where_there_is() -> None:
    rng = np.random.default_rng(5)
    expected = rng.uniform(20, 60, 400)
    level = rng.poisson(expected)
    spread = rng.poisson(expected * rng.gamma(1 / 0.09, 0.09, 400))
    found = [between_variance((seen - expected) / np.sqrt(expected), 1 / expected) for seen in (level, spread)]
    assert found[0] == pytest.approx(0, abs=0.008)
    assert found[1] == pytest.approx(0.09, abs=0.02)


def test_one_far_out_crew_is_drawn_in() -> None:
    z = np.array([-1.0, -0.5, 0.0, 0.2, 0.4, 0.9, 8.0])
    drawn = drawn_in(z)
    assert drawn.max() < 4
    assert (drawn[1:-1] == z[1:-1]).all()


def test_one_crew_has_no_spread() -> None:
    assert between_variance(np.array([5.0]), np.array([0.1])) == 0
    assert between_variance(drawn_in(np.array([])), np.array([])) == 0


def _jobs(rng: np.random.Generator, frailty: float) -> pl.DataFrame:
    jobs = np.repeat(np.arange(6000), 3)
    shared = rng.gamma(1 / frailty, frailty, 6000) if frailty else np.ones(6000)
    crew = np.where(jobs < 2000, "A", "B")
    expected = np.full(len(jobs), 0.04)
    level = np.where(crew == "A", 2.5, 1.0)
    observed = rng.random(len(jobs)) < 1 - np.exp(-expected * level * shared[jobs])
    return pl.DataFrame({"crew_id": crew, "job_id": jobs, "observed": observed.astype(int), "expected": expected})


def test_cracks_that_leak_alone_are_not_clustered_even_where_one_crew_is_bad() -> None:
    assert clustering(_jobs(np.random.default_rng(2), 0.0)) == pytest.approx(1, abs=0.06)


def test_cracks_of_one_job_that_leak_together_are_clustered() -> None:
    """The variance of a crew's total over its mean, by simulation, is what one business's jobs show."""
    rng = np.random.default_rng(2)
    worlds = [_jobs(rng, 3.0) for _ in range(60)]
    totals = np.array([world["observed"].sum() for world in worlds])
    found = np.mean([clustering(world) for world in worlds])
    assert found > 1.2
    assert found == pytest.approx(totals.var(ddof=1) / totals.mean(), rel=0.4)


def test_jobs_of_one_crack_that_never_leaked_say_nothing() -> None:
    cracks = pl.DataFrame({"crew_id": ["A", "A"], "job_id": [1, 2], "observed": [0, 0], "expected": [0.1, 0.1]})
    assert clustering(cracks) == 1

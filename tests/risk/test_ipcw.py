"""Weighted scores against published breast cancer data: 686 women, 299 events (Schumacher et al. 1994)."""

from pathlib import Path

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import polars as pl
import pytest
from lifelines import CoxPHFitter

from analytics.risk.ipcw import Flags, brier_parts, concordance_parts, still_watched
from analytics.risk.poisson import Array
from analytics.stats.survival import product_limit

GBSG2 = Path(__file__).parent.parent / "reference" / "gbsg2.csv"
YEARS = (365.0, 730.0, 1095.0, 1825.0)


@pytest.fixture(scope="module")
def patients() -> pd.DataFrame:
    """The covariates as numbers, with time and cens."""
    table = pl.read_csv(GBSG2).select(
        "age",
        "tsize",
        "pnodes",
        "progrec",
        "estrec",
        "time",
        "cens",
        hormone=(pl.col("horTh") == "yes").cast(pl.Float64),
        after_menopause=(pl.col("menostat") == "Post").cast(pl.Float64),
        grade_2=(pl.col("tgrade") == "II").cast(pl.Float64),
        grade_3=(pl.col("tgrade") == "III").cast(pl.Float64),
    )
    return pd.DataFrame(table.to_dict(as_series=False))


@pytest.fixture(scope="module")
def cox(patients: pd.DataFrame) -> CoxPHFitter:
    """Cox regression, ties by Efron."""
    return CoxPHFitter().fit(patients, "time", "cens")


def _lives(patients: pd.DataFrame) -> tuple[Array, Flags]:
    return patients["time"].to_numpy(np.float64), patients["cens"].to_numpy() == 1


def test_brier_values_of_the_cox_model_and_of_kaplan_meier(patients: pd.DataFrame, cox: CoxPHFitter) -> None:
    # scikit-survival 0.28 on the same data. It takes whoever is last seen on day 1095 for unknown at that age, so it is
    # asked of the noon after each day.
    days, failed = _lives(patients)
    watched = still_watched(days, failed)
    survival = cox.predict_survival_function(patients, times=YEARS).to_numpy()
    noons = [at + 0.5 for at in YEARS]
    model = [brier_parts(days, failed, 1 - s, at, watched).mean() for s, at in zip(survival, noons, strict=True)]
    leaked = 1 - product_limit(days, failed).read(noons).survival
    base = [
        brier_parts(days, failed, np.full(len(days), share), at, watched).mean()
        for share, at in zip(leaked, noons, strict=True)
    ]
    assert model == pytest.approx([0.074357, 0.167779, 0.194473, 0.207394], abs=1e-6)
    assert base == pytest.approx([0.077317, 0.189385, 0.229697, 0.249998], abs=1e-6)


@pytest.mark.parametrize(("before", "expected"), [(np.inf, 0.679422), (1825.0, 0.681690), (730.0, 0.713148)])
def test_concordance_of_the_cox_model(patients: pd.DataFrame, cox: CoxPHFitter, before: float, expected: float) -> None:
    # scikit-survival 0.28, concordance_index_ipcw
    days, failed = _lives(patients)
    hazard = cox.predict_partial_hazard(patients).to_numpy()
    share, pulls = concordance_parts(days, failed, hazard, before, still_watched(days, failed))
    assert share == pytest.approx(expected, abs=1e-6)
    assert pulls.sum() == pytest.approx(0, abs=1e-9)


def test_with_everyone_watched_to_the_end_it_is_the_plain_brier_value() -> None:
    rng = np.random.default_rng(4)
    days, chance = rng.uniform(1, 1000, 200), rng.random(200)
    leaked = np.ones(200, dtype=bool)
    parts = brier_parts(days, leaked, chance, 500.0, still_watched(days, leaked))
    assert parts.mean() == pytest.approx(np.mean(((days <= 500) - chance) ** 2))


def test_what_held_to_the_end_of_a_warranty_of_that_length_counts_as_held() -> None:
    # plain arithmetic: nobody's watching ended before day 365, so the value is that of the shares themselves
    days, leaked = np.array([100.0, 365, 365, 365, 366]), np.array([True, True, False, False, False])
    chance = np.array([0.5, 0.4, 0.3, 0.2, 0.1])
    parts = brier_parts(days, leaked, chance, 365.0, still_watched(days, leaked))
    assert parts == pytest.approx([0.25, 0.36, 0.09, 0.04, 0.01])


def test_the_error_of_the_concordance_is_that_of_leaving_out_one_at_a_time() -> None:
    rng = np.random.default_rng(5)
    days, risk = np.ceil(rng.exponential(100, 120)), rng.random(120)
    leaked = rng.random(120) < 0.6

    def everyone(at: Array) -> Array:
        return np.ones_like(at)

    share, pulls = concordance_parts(days, leaked, risk, 300.0, everyone)
    left = np.array([np.arange(120) != one for one in range(120)])
    jackknife = [concordance_parts(days[keep], leaked[keep], risk[keep], 300.0, everyone)[0] for keep in left]
    assert share - np.array(jackknife) == pytest.approx(pulls, abs=0.002)

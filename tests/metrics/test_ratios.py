"""Totals over totals, against hand arithmetic and a naive jackknife by job."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from analytics.answers.measuring import measure
from analytics.answers.records import Records
from tests.histories import CRACK, DONE_JOB

Opener = Callable[..., Records]


def jobs_of(*cracks: dict[str, object]) -> dict[str, list[dict[str, object]]]:
    """One done job a crack."""
    jobs: list[dict[str, object]] = [{**DONE_JOB, "job_id": f"J-{i}"} for i, _ in enumerate(cracks)]
    rows = [{**CRACK, "crack_id": f"K-{i}", "job_id": f"J-{i}", **crack} for i, crack in enumerate(cracks)]
    return {"jobs": jobs, "cracks": rows}


LITRES = [0.5, 0.3, 0.9, 0.4, 0.2, 0.6]
METRES = [2.0, 1.5, 3.0, 2.5, 1.0, 2.0]
SIX: list[dict[str, object]] = [
    {"resin_litres": y, "length_m": x, "labour_minutes": 60 * x} for y, x in zip(LITRES, METRES, strict=True)
]


@pytest.mark.parametrize(
    ("metric", "value"),
    [
        ("material_per_metre", sum(LITRES) / sum(METRES)),
        ("labour_per_metre", 60.0),
        ("labour_per_crack", 60 * sum(METRES) / 6),
        # width 0.5 mm x wall 200 mm = 100 mL a metre (arithmetic)
        ("take_ratio", sum(LITRES) / (sum(METRES) * 0.1)),
    ],
)
def test_a_ratio_is_total_over_total(records_of: Opener, metric: str, value: float) -> None:
    row = measure(records_of(jobs_of(*SIX)), metric).rows.row(0, named=True)
    assert row["value"] == pytest.approx(value)
    assert row["low"] <= row["value"] <= row["high"]
    assert (row["cracks"], row["jobs"]) == (6, 6)


def test_its_error_is_the_spread_between_jobs(records_of: Opener) -> None:
    row = measure(records_of(jobs_of(*SIX)), "material_per_metre", level=0.9).rows.row(0, named=True)
    y, x = np.array(LITRES), np.array(METRES)
    ratio = y.sum() / x.sum()
    # Cochran 1977, Sampling Techniques, eq. 6.13, without finite correction
    error = np.sqrt(((y - ratio * x) ** 2).sum() * 6 / 5) / x.sum()
    reach = np.exp(stats.t.ppf(0.95, 5) * error / ratio)
    assert (row["low"], row["high"]) == pytest.approx((ratio / reach, ratio * reach))


def test_jobs_all_alike_leave_no_spread(records_of: Opener) -> None:
    """Lengths whose squares, rounded, add up to less than nothing about the ratio."""
    pairs = [(3.92, 5.6), (5.18, 7.4), (1.05, 1.5), (1.33, 1.9), (4.97, 7.1), (3.36, 4.8)]
    alike: list[dict[str, object]] = [{"resin_litres": y, "length_m": x} for y, x in pairs]
    row = measure(records_of(jobs_of(*alike)), "material_per_metre").rows.row(0, named=True)
    assert (row["low"], row["value"], row["high"]) == pytest.approx((0.7, 0.7, 0.7), rel=1e-7)


def test_a_crack_counts_only_where_both_sides_were_recorded(records_of: Opener) -> None:
    cracks: list[dict[str, object]] = [
        *SIX,
        {"resin_litres": 9, "length_m": None},
        {"resin_litres": None, "length_m": 9},
    ]
    row = measure(records_of(jobs_of(*cracks)), "material_per_metre").rows.row(0, named=True)
    assert row["value"] == pytest.approx(sum(LITRES) / sum(METRES))
    assert row["cracks"] == 6


def test_fewer_than_five_jobs_say_nothing(records_of: Opener) -> None:
    row = measure(records_of(jobs_of(*SIX[:4])), "material_per_metre").rows.row(0, named=True)
    assert (row["value"], row["low"], row["high"]) == (None, None, None)
    assert row["note"] == "only 4 jobs; 5 are needed"

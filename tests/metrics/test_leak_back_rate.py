"""The rate the store works out in SQL, against published curves and a naive computation."""

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics.answers.measuring import measure
from analytics.answers.records import Records
from analytics.contract.ages import horizon_days
from analytics.stats.survival import leak_back_interval, product_limit
from tests.histories import CRACK

Opener = Callable[..., Records]
AS_OF = date(2026, 10, 1)
DAYS = 30
# 6-MP arm: weeks to relapse, + still in remission. Freireich et al. 1963, in Cox & Oakes 1984, table 1.1.
SIX_MP = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+".split()  # noqa: SIM905 - as the table is printed


def history(times: list[int], failed: list[bool], jobs: list[int], **crack: str) -> dict[str, list[dict[str, object]]]:
    """Cracks watched for ``times`` days; those of one job go together and are all watched at least that long."""
    done = {
        job: min(AS_OF - timedelta(days=t) for t, j in zip(times, jobs, strict=True) if j == job) for job in set(jobs)
    }
    rows: dict[str, list[dict[str, object]]] = {"jobs": [], "cracks": [], "callbacks": []}
    for job, day in done.items():
        rows["jobs"].append({"job_id": f"J{job}", "crew_id": "C1", "status": "done", "done_on": day})
    rows["jobs"].append({"job_id": "Q1", "status": "quoted", "quoted_on": AS_OF})
    for number, (time, leaked, job) in enumerate(zip(times, failed, jobs, strict=True)):
        rows["cracks"].append({**CRACK, **crack, "crack_id": f"K{number}", "job_id": f"J{job}"})
        if leaked:
            reported = done[job] + timedelta(days=time)
            call = {"callback_id": f"B{number}", "job_id": f"J{job}", "crack_id": f"K{number}"}
            rows["callbacks"].append({**call, "reported_on": reported, "finding": "leak_back"})
    return {name: table for name, table in rows.items() if table}


def six_mp() -> dict[str, list[dict[str, object]]]:
    times = [int(word.rstrip("+")) * DAYS for word in SIX_MP]
    return history(times, [not word.endswith("+") for word in SIX_MP], list(range(len(times))))


@pytest.mark.parametrize(
    ("weeks", "survival", "low", "high"),
    # Cox & Oakes 1984; log-log intervals by lifelines 0.30 and R survfit (conf.type "log-log").
    [(10, 0.7529, 0.503200, 0.889362), (16, 0.6275, 0.367511, 0.804912)],
)
def test_the_published_curve_comes_back_through_files_and_sql(
    records_of: Opener, weeks: int, survival: float, low: float, high: float
) -> None:
    row = measure(records_of(six_mp()), "leak_back_rate", months=weeks).rows.row(0, named=True)
    assert 1 - row["value"] == pytest.approx(survival, abs=5e-5)
    assert (1 - row["high"], 1 - row["low"]) == pytest.approx((low, high), abs=1e-6)
    assert row["cracks"] == 21


def test_nothing_is_said_past_the_last_age_with_ten_still_watched(records_of: Opener) -> None:
    row = measure(records_of(six_mp()), "leak_back_rate", months=23).rows.row(0, named=True)
    assert row["value"] is None
    assert row["note"] == "only 5 of 21 cracks are still watched at 23 months; 10 are needed"
    row = measure(records_of(six_mp()), "leak_back_rate", months=36).rows.row(0, named=True)
    assert row["note"] == "none of 21 cracks is still watched at 36 months; 10 are needed"


def test_many_cracks_of_a_few_jobs_say_nothing_of_all_jobs(records_of: Opener) -> None:
    # Simulated: jobs that share a log-normal hazard (standard deviation 1), 40 cracks, 12 % the middle job's rate: the
    # 95 % interval held the rate of all jobs in 63 % for one job of 40, 81 % for two of 20; the jackknife over one job
    # is 0, so nothing widens.
    forty = history([100] * 12 + [900] * 28, [True] * 12 + [False] * 28, [n % 4 for n in range(40)])
    row = measure(records_of(forty), "leak_back_rate").rows.row(0, named=True)
    assert (row["value"], row["low"], row["high"]) == (None, None, None)
    assert row["note"] == "only 4 jobs; 5 are needed"
    fifth = history([100] * 12 + [900] * 28, [True] * 12 + [False] * 28, [n % 5 for n in range(40)])
    assert measure(records_of(fifth), "leak_back_rate").rows.row(0, named=True)["value"] == pytest.approx(0.3)


def test_cracks_of_one_job_widen_the_interval_as_a_naive_jackknife_does(records_of: Opener) -> None:
    rng = np.random.default_rng(4)
    jobs = [int(job) for job in np.repeat(np.arange(60), 3)]
    bad = rng.random(60) < 0.15
    failed = [bool(bad[job]) for job in jobs]
    times = [int(rng.integers(10, 700)) if leaked else 900 for leaked in failed]
    row = measure(records_of(history(times, failed, jobs)), "leak_back_rate", months=24).rows.row(0, named=True)
    day = horizon_days(24)
    done = {job: max(t for t, j in zip(times, jobs, strict=True) if j == job) for job in set(jobs)}
    seen = np.array([t if leaked else done[job] for t, leaked, job in zip(times, failed, jobs, strict=True)])
    curve = product_limit(np.minimum(seen, day), np.array(failed) & (seen <= day), np.array(jobs))
    expected = leak_back_interval(*curve.read(np.array([day])), 0.95)
    assert (row["value"], row["low"], row["high"]) == pytest.approx(
        (expected.value[0], expected.low[0], expected.high[0]), rel=1e-8
    )
    alone = product_limit(np.minimum(seen, day), np.array(failed) & (seen <= day))
    narrow = leak_back_interval(*alone.read(np.array([day])), 0.95)
    assert row["high"] - row["low"] > float(narrow.high[0] - narrow.low[0])


def test_every_segment_is_the_rate_of_its_own_cracks(records_of: Opener) -> None:
    rng = np.random.default_rng(9)
    rows = history(
        [int(t) for t in rng.integers(20, 1500, 240)], [bool(x) for x in rng.random(240) < 0.3], list(range(240))
    )
    for crack in rows["cracks"]:
        crack["resin"] = rng.choice(["epoxy", "urethane_foam"])
        crack["water"] = rng.choice(["dry", "seeping", ""])
    records = records_of(rows)
    together = measure(records, "leak_back_rate", ["resin", "water"], months=12).rows
    assert together.height == 6
    for row in together.to_dicts():
        alone = measure(
            records, "leak_back_rate", months=12, only={"resin": row["resin"], "water": row["water"]}
        ).rows.row(0, named=True)
        assert (row["value"], row["low"], row["cracks"]) == (alone["value"], alone["low"], alone["cracks"])
    assert together["water"].to_list() == ["dry", "seeping", "not recorded"] * 2


def test_no_leak_back_has_no_interval_below_zero(records_of: Opener) -> None:
    row = measure(records_of(history([900] * 20, [False] * 20, list(range(20)))), "leak_back_rate").rows.row(
        0, named=True
    )
    # 0 of 20: Clopper-Pearson 0 to 0.1684 (Newcombe 1998, Stat. Med. 17, 857-872, table I).
    assert (row["value"], row["low"]) == (0.0, 0.0)
    assert row["high"] == pytest.approx(0.1684, abs=5e-5)


def test_the_order_of_rows_and_the_names_of_groups_change_nothing(records_of: Opener) -> None:
    rows = six_mp()
    first = measure(records_of(rows), "leak_back_rate", ["resin"], months=10).rows
    turned = {name: list(reversed(table)) for name, table in rows.items()}
    second = measure(records_of(turned), "leak_back_rate", ["resin"], months=10).rows
    assert first.equals(second)


def test_an_empty_store_measures_nothing_without_failing(records_of: Opener) -> None:
    records = records_of({"jobs": [{"job_id": "Q1", "status": "quoted", "quoted_on": AS_OF}]})
    assert measure(records, "leak_back_rate").rows.is_empty()
    assert isinstance(measure(records, "take_ratio", ["crew"]).rows, pl.DataFrame)

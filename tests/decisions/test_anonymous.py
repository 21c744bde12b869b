"""The extract: every group large enough, nothing of the old codes in it, and the follow-up kept as far as promised."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics.contract.tables import TABLES
from analytics.decisions.anonymous import LEFT_OUT, NUMBERS, Extract, extract
from analytics.decisions.small_groups import KNOWN_OUTSIDE
from analytics.errors import TooFewError

KEY = bytes(range(32))
SECRET = "SECRET"  # noqa: S105 - a mark to search for


def business(seed: int, count: int = 400) -> dict[str, pl.DataFrame]:
    """Invented jobs with rare branches, crews and words, some without a site."""
    rng = np.random.default_rng(seed)
    pick = rng.choice
    days = [date(2021, 1, 1) + timedelta(int(n)) for n in rng.integers(0, 900, count)]
    status = [str(pick(["done", "done", "done", "planned", "quoted", "lost"])) for _ in days]
    jobs: list[dict[str, Any]] = [
        {
            "job_id": f"{SECRET}-J-{n}",
            "site_id": None if n % 17 == 0 else f"site-{SECRET}{n // 2}",
            "branch": str(pick(["North", "South", "Hill", "Far"], p=[0.5, 0.4, 0.09, 0.01])),
            "crew_id": str(pick(["C1", "C2", "C3", f"{SECRET}9"], p=[0.6, 0.3, 0.09, 0.01])),
            "status": status[n],
            "quoted_on": day - timedelta(20),
            "planned_on": day if status[n] in {"done", "planned"} else None,
            "done_on": day if status[n] == "done" else None,
            "access": str(pick(["open", "finished", "tight"], p=[0.9, 0.08, 0.02])),
            "price_quoted": "123.45",
            "warranty_months": 60,
        }
        for n, day in enumerate(days)
    ]
    cracks: list[dict[str, Any]] = [
        {
            "crack_id": f"{job['job_id']}-{place}",
            "job_id": job["job_id"],
            "length_m": round(float(rng.lognormal(0.7, 0.4)), 2),
            "direction": str(pick(["vertical", "diagonal", "stepped"], p=[0.79, 0.2, 0.01])),
            "water": str(pick(["dry", "damp"])),
        }
        for job in jobs
        for place in range(1 + int(rng.integers(0, 2)))
    ]
    called = [(job, day) for job, day in zip(jobs, days, strict=True) if job["status"] == "done"][::5]
    calls = [
        {
            "callback_id": f"{SECRET}-K-{n}",
            "job_id": job["job_id"],
            "reported_on": day + timedelta(n),
            "finding": "condensation" if n == 3 else "leak_back",
            "material_cost": "9.99",
        }
        for n, (job, day) in enumerate(called)
    ]
    reviews = [
        {
            "review_id": f"{SECRET}-R-{n}",
            "crack_id": crack["crack_id"],
            "asked_on": date(2023, 6, 2),
            "decided_on": date(2023, 6, 9),
            "decision": "monitor" if n == 0 else "inject",
            "reference": f"{SECRET}-1",
        }
        for n, crack in enumerate(cracks[:90])
    ]
    rows: dict[str, list[dict[str, Any]]] = {"jobs": jobs, "cracks": cracks, "callbacks": calls, "reviews": reviews}
    return {name: frame(name, rows[name]) for name in rows}


def frame(name: str, rows: list[dict[str, Any]]) -> pl.DataFrame:
    types = pl.Schema(TABLES[name])
    given = pl.DataFrame(rows, infer_schema_length=None)
    return given.select(
        (pl.col(column) if column in given.columns else pl.lit(None)).cast(types[column]).alias(column)
        for column in TABLES[name].column_names()
    )


def text(made: Extract) -> str:
    return "\n".join(rows.write_csv() for rows in made.tables.values())


@pytest.mark.parametrize(("seed", "k"), [(1, 2), (2, 5), (3, 5), (4, 20), (5, 12)])
def test_every_group_holds_k_sites_however_it_is_counted(seed: int, k: int) -> None:
    made = extract(business(seed), k, KEY)
    assert all(group.under == 0 for group in made.after)
    jobs = made.tables["jobs"].with_columns(day=pl.coalesce("done_on", "planned_on", "quoted_on"))
    sites = jobs.with_columns(site=pl.col("site_id").fill_null(""))
    for by in ([*KNOWN_OUTSIDE], ["crew_id"], ["branch"]):
        sizes = sites.drop_nulls(by if len(by) == 1 else []).group_by(by).agg(n=pl.col("site").n_unique())["n"]
        assert min(sizes) >= k
    words = made.tables["cracks"].join(sites, on="job_id")
    for column in ("direction", "water", "resin", "movement"):
        known = words.drop_nulls(column).group_by(column).agg(n=pl.col("site").n_unique())
        assert min(known["n"], default=k) >= k


def test_nothing_of_the_old_codes_or_prices_is_in_it() -> None:
    whole = text(extract(business(1), 5, KEY))
    for word in (SECRET, "North", "C1,", "123.45", "9.99"):
        assert word not in whole
    for table, columns in LEFT_OUT.items():
        header = extract(business(1), 5, KEY).tables[table].columns
        assert not set(columns) & set(header)


def test_another_key_gives_other_numbers_to_the_same_work() -> None:
    one, other = (extract(business(1), 5, key) for key in (KEY, bytes(32)))
    assert text(one) != text(other)
    lengths = [made.tables["cracks"]["length_m"].sort().to_list() for made in (one, other)]
    assert lengths[0] == lengths[1]


def test_rows_still_belong_to_each_other() -> None:
    given = business(2)
    made = extract(given, 5, KEY)
    jobs, cracks = made.tables["jobs"], made.tables["cracks"]
    assert cracks.join(jobs, on="job_id", how="anti").is_empty()
    assert made.tables["callbacks"].join(jobs, on="job_id", how="anti").is_empty()
    assert made.tables["reviews"].join(cracks, on="crack_id", how="anti").is_empty()
    assert made.jobs_left_out == made.jobs_read - jobs.height
    for name, (column, mark) in NUMBERS.items():
        assert made.tables[name][column].is_unique().all()
        assert made.tables[name][column].str.starts_with(f"{mark}-").all()


def test_days_are_quarters_that_keep_their_season() -> None:
    given = business(3)
    made = extract(given, 2, KEY)
    for name, columns in (("jobs", ("quoted_on", "planned_on", "done_on")), ("callbacks", ("reported_on",))):
        for column in columns:
            days = made.tables[name][column].drop_nulls()
            assert set(days.dt.day()) <= {1}
            assert set(days.dt.month()) <= {12, 3, 6, 9}
    season = pl.col("done_on").dt.month() % 12 // 3
    counts = [
        rows.filter(pl.col("status").cast(pl.String) == "done").group_by(season).len().sort("done_on")["len"].to_list()
        for rows in (given["jobs"], made.tables["jobs"])
    ]
    assert all(0 <= before - after <= made.jobs_left_out for before, after in zip(*counts, strict=True))
    assert sum(counts[1]) > 0.9 * sum(counts[0])
    called = made.tables["callbacks"].join(made.tables["jobs"], on="job_id")
    assert (called["reported_on"] >= called["done_on"]).all()


def test_rare_words_are_blank_a_rare_finding_another_one_a_rare_decision_gone() -> None:
    made = extract(business(2), 12, KEY)
    assert "stepped" not in made.tables["cracks"]["direction"].cast(pl.String).to_list()
    assert "condensation" not in made.tables["callbacks"]["finding"].cast(pl.String).to_list()
    reviews = made.tables["reviews"]
    assert set(reviews["decision"].cast(pl.String)) == {"inject"}
    assert (reviews["decision"].is_null() == reviews["decided_on"].is_null()).all()


def test_too_little_to_hide_among_is_said() -> None:
    with pytest.raises(TooFewError, match="no group of 50 sites"):
        extract(business(1, count=30), 50, KEY)


def test_jobs_whose_site_is_not_recorded_may_all_be_one_house() -> None:
    tables = business(1)
    unknown = {**tables, "jobs": tables["jobs"].with_columns(site_id=pl.lit(None, pl.String))}
    with pytest.raises(TooFewError, match="record where they were done"):
        extract(unknown, 2, KEY)


def test_the_tables_handed_in_are_left_as_they_are() -> None:
    given = business(4)
    before = {name: rows.clone() for name, rows in given.items()}
    extract(given, 5, KEY)
    assert all(rows.equals(before[name]) for name, rows in given.items())

"""Leak-backs by age and season against a count by hand, crack by crack."""

from pathlib import Path

import polars as pl
import pytest

from analytics.answers.leak_back_ages import EDGES_MONTHS, FEWEST_YEARS, by_age_and_season
from analytics.answers.records import Records
from analytics.contract.ages import DAYS_PER_YEAR, horizon_days
from analytics.contract.dimensions import dimension

RESINS = ("epoxy", "urethane_foam")


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def by_hand(records: Records, season: str, band: int) -> tuple[int, float]:
    """Leak-backs and crack-years of one season at one age, one crack after the other."""
    first, last = (horizon_days(EDGES_MONTHS[band + end]) for end in (0, 1))
    leaked, days = 0, 0.0
    for crack in records.ask("follow_up").filter(pl.col("season") == season).to_dicts():
        days += max(0.0, min(crack["watched_days"], last) - first)
        leaked += crack["leaked_back"] and first < crack["watched_days"] <= last
    return leaked, days / DAYS_PER_YEAR


@pytest.mark.parametrize(("season", "band"), [("spring", 0), ("winter", 3), ("autumn", 5)])
def test_counts_and_time_are_those_of_a_count_by_hand(records: Records, season: str, band: int) -> None:
    row = by_age_and_season(records).row(
        by_predicate=(pl.col("season") == season) & (pl.col("band") == band), named=True
    )
    leaked, years = by_hand(records, season, band)
    assert (row["leak_backs"], row["years"]) == (leaked, pytest.approx(years))
    assert row["value"] == pytest.approx(100 * leaked / years)
    assert row["low"] < row["value"] < row["high"]


def test_too_little_time_watched_has_no_rate(records: Records) -> None:
    rows = by_age_and_season(records, {dimension("crew"): "C12"})
    thin = rows.filter(pl.col("years") < FEWEST_YEARS)
    assert thin.height
    assert thin["value"].null_count() == thin.height


def test_narrowing_leaves_only_the_cracks_asked_for(records: Records) -> None:
    every = by_age_and_season(records)["leak_backs"].sum()
    parts = [by_age_and_season(records, {dimension("resin"): resin})["leak_backs"].sum() for resin in RESINS]
    assert sum(parts) == every

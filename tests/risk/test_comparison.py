"""Choices on the same cracks: strata, what is left out, and what is said without a model."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.contract.bounds import FEWEST_JOBS
from analytics.contract.tables import RESINS
from analytics.risk import Compared, Strata, fit_lightly, strata
from analytics.stats.survival import product_limit

LAST = date(2025, 6, 30)


@pytest.fixture(scope="module")
def found(world: pl.DataFrame) -> Compared:
    return Compared(Strata(world, "resin", RESINS, ("water",)), fit_lightly(world, LAST), 24, 0.95)


def test_the_plain_rate_is_the_product_limit_of_its_own_cracks(found: Compared, world: pl.DataFrame) -> None:
    for row in found.rows().to_dicts():
        own = world.filter(resin=row["choice"])
        read = product_limit(own["watched_days"], own["leaked_back"], own["job_id"]).read(730)
        assert row["crude"] == pytest.approx(1 - read.survival[0])
        assert (row["cracks"], row["leak_backs"], row["watched"]) == (own.height, read.events[0], read.watched[0])
        assert row["crude_low"] < row["crude"] < row["crude_high"]
        assert row["low"] < row["value"] < row["high"]


@pytest.mark.parametrize("jobs", [FEWEST_JOBS - 1, FEWEST_JOBS])
def test_a_plain_curve_of_fewer_than_five_jobs_says_nothing(world: pl.DataFrame, jobs: int) -> None:
    epoxy_jobs = (pl.int_range(pl.len()) % jobs).cast(pl.String)
    few = world.with_columns(job_id=pl.when(resin="epoxy").then(epoxy_jobs).otherwise("job_id"))
    found = Strata(few, "resin", RESINS, ("water",)).rates([12, 24], 0.95).filter(choice="epoxy")
    assert found.select("value", "low", "high").null_count().row(0) == ((2, 2, 2) if jobs < FEWEST_JOBS else (0, 0, 0))
    assert found["cracks"].to_list() == [world.filter(resin="epoxy").height] * 2


def test_strata_add_up(found: Compared, world: pl.DataFrame) -> None:
    strata = found.by_stratum()
    assert strata["cracks"].sum() == world.height
    assert strata["leak_backs"].sum() == sum(found.rows()["leak_backs"])
    assert strata["water"].unique(maintain_order=True).to_list() == ["dry", "damp", "seeping", "running"]
    assert strata["kept"].all()


def test_the_whole_is_the_mean_of_its_strata(found: Compared, world: pl.DataFrame) -> None:
    strata, sizes = found.by_stratum(), world["water"].value_counts(name="size")
    for row in found.rows().to_dicts():
        own = strata.filter(choice=row["choice"]).join(sizes, on="water")
        assert np.average(own["value"].to_numpy(), weights=own["size"].to_numpy()) == pytest.approx(row["value"])


def test_a_kind_of_crack_that_hardly_ever_got_one_of_them_is_named_and_left_out(world: pl.DataFrame) -> None:
    running = pl.col("water") == "running"
    first = pl.col("crack_id") == world.filter(running)["crack_id"][0]
    foam = pl.when(running & ~first).then(pl.lit("urethane_foam")).otherwise("resin")
    few = world.with_columns(resin=pl.when(first).then(pl.lit("epoxy")).otherwise(foam))
    found = Compared(Strata(few, "resin", RESINS, ("water",)), fit_lightly(few, LAST), 24, 0.95)
    assert found.left_out() == (f"running: 1 with epoxy, of {few.filter(running).height} cracks",)
    assert found.strata.taken[found.strata.kept].sum() == few.filter(~running).height
    assert found.rows()["cracks"].sum() == found.strata.taken[found.strata.kept].sum()
    dropped = found.by_stratum().filter(water="running")
    assert dropped["value"].null_count() == 2
    assert not dropped["kept"].any()


def test_what_was_not_recorded_is_a_stratum_of_its_own(world: pl.DataFrame) -> None:
    blank = world.with_columns(water=pl.when(pl.int_range(pl.len()) % 9 != 0).then("water"))
    found = Compared(Strata(blank, "resin", RESINS, ("water",)), None, 24, 0.95)
    assert found.by_stratum()["water"].unique(maintain_order=True).to_list()[-1] == "not recorded"
    assert found.by_stratum()["cracks"].sum() == world.height


def test_without_a_model_there_are_plain_figures_only(world: pl.DataFrame) -> None:
    plain = Compared(Strata(world, "resin", RESINS, ("water",)), None, 24, 0.95)
    assert plain.rows()["value"].null_count() == 2
    assert plain.rows()["crude"].null_count() == 0
    assert plain.case_mix().is_empty()
    contrast = plain.contrasts().row(0, named=True)
    assert contrast["ratio"] is None
    assert contrast["pooled"] is not None
    assert not contrast["stands"]


def test_of_two_the_second_is_set_against_the_first_and_of_more_each_against_the_others(
    found: Compared, world: pl.DataFrame
) -> None:
    assert found.contrasts()["choice"].to_list() == ["urethane_foam"]
    seasons = ("winter", "spring", "summer", "autumn")
    four = Compared(Strata(world, "season", seasons, ("water", "resin")), found.model, 24, 0.95)
    assert four.contrasts()["choice"].to_list() == list(seasons)
    assert four.strata.log_rank is None
    assert four.contrasts()["difference"].to_numpy().sum() == pytest.approx(0, abs=1e-12)


def test_foam_stands_apart_and_an_unrecorded_cause_would_have_to_be_that_strong(found: Compared) -> None:
    row = found.contrasts().row(0, named=True)
    assert row["stands"]
    assert row["ratio_high"] < 1
    assert row["e_value"] > row["e_value_interval"] > 1
    assert row["pooled"] < 1


def test_the_order_of_rows_changes_nothing(found: Compared, world: pl.DataFrame) -> None:
    shuffled = world.sample(fraction=1, shuffle=True, seed=3)
    mixed = Compared(Strata(shuffled, "resin", RESINS, ("water",)), found.model, 24, 0.95)
    for one, other in ((found.rows(), mixed.rows()), (found.contrasts(), mixed.contrasts())):
        numbers = one.select(pl.col(pl.Float64)).to_numpy()
        assert other.select(pl.col(pl.Float64)).to_numpy() == pytest.approx(numbers, nan_ok=True)
    assert (
        mixed.by_stratum()
        .select("water", "choice", "cracks")
        .equals(found.by_stratum().select("water", "choice", "cracks"))
    )


def test_some_cracks_stand_for_a_large_stratum_and_the_answer_hardly_moves(
    found: Compared, world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(strata, "MOST_MEMBERS", 500)
    some = Compared(Strata(world, "resin", RESINS, ("water",)), found.model, 24, 0.95)
    sizes = world.group_by("water", "resin").len()["len"]
    assert sizes.max() > 500 > sizes.min()  # type: ignore[operator]
    apart = some.rows()["value"].to_numpy() / found.rows()["value"].to_numpy() - 1
    assert (apart != 0).any()
    assert np.abs(apart).max() < 0.03  # with 10 000 of them a quarter of that
    assert some.rows().drop("value", "low", "high").equals(found.rows().drop("value", "low", "high"))
    mixes = [each.case_mix().to_dicts() for each in (some, found)]
    for mine, theirs in zip(*mixes, strict=True):
        assert mine["hazard"] == pytest.approx(theirs["hazard"], rel=0.05)
        assert mine | {"hazard": 0} == theirs | {"hazard": 0}
    assert some.by_stratum().select("cracks", "leak_backs").equals(found.by_stratum().select("cracks", "leak_backs"))


def test_a_choice_that_few_got_is_looked_at_whole_however_many_got_the_other(
    found: Compared, world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    foam = pl.col("resin") == "urethane_foam"
    rare = world.filter(~foam | (foam.cum_sum().over("water") <= 12))
    full = Compared(Strata(rare, "resin", RESINS, ("water",)), found.model, 24, 0.95)
    told = full.case_mix().to_dicts()
    monkeypatch.setattr(strata, "MOST_MEMBERS", 100)
    some = Compared(Strata(rare, "resin", RESINS, ("water",)), found.model, 24, 0.95)
    for mine, theirs in zip(some.case_mix().to_dicts(), told, strict=True):
        assert mine["hazard"] == pytest.approx(theirs["hazard"], rel=0.15)


def test_those_that_stand_for_a_stratum_are_the_same_in_any_order_of_rows_and_spread_over_its_days(
    world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(strata, "MOST_MEMBERS", 20)
    shuffled = world.sample(fraction=1, shuffle=True, seed=5)
    one, other = (_of_first(Strata(rows, "resin", RESINS, ("water",)), "urethane_foam") for rows in (world, shuffled))
    assert one.equals(other)
    days = world.filter(water="dry", resin="urethane_foam")["done_on"]
    assert (one.height, one["water"].unique().to_list(), one["resin"].unique().to_list()) == (
        20,
        ["dry"],
        ["urethane_foam"],
    )
    assert (one["done_on"].min(), one["done_on"].max()) == (days.min(), days.max())


def _of_first(compared: Strata, resin: str) -> pl.DataFrame:
    """Those that stand for the cracks of the first stratum that took a resin."""
    places, kinds, _ = compared.sample
    cracks: pl.DataFrame = compared.cracks[places[kinds == 0]].filter(resin=resin)
    return cracks


def test_no_cracks_compare_to_nothing(world: pl.DataFrame) -> None:
    none = Compared(Strata(world.clear(), "resin", (), ("water",)), None, 24, 0.95)
    assert none.rows().is_empty()
    assert none.contrasts().is_empty()
    assert none.by_stratum().is_empty()
    assert none.strata.log_rank is None
    assert none.left_out() == ()


def test_what_is_kept_where_a_stratum_is_too_thin_is_as_it_was_recorded(world: pl.DataFrame) -> None:
    blank = world.with_columns(water=pl.when(pl.int_range(pl.len()) % 5 > 0).then("water"))
    thin = blank.filter((pl.col("water").fill_null("") != "running") | (pl.col("resin") == "epoxy"))
    kept = Strata(thin, "resin", RESINS, ("water",)).of_told("crack_id", "water")
    assert kept.equals(thin.filter(pl.col("water").fill_null("") != "running").select("crack_id", "water"))
    assert kept["water"].null_count() > 0

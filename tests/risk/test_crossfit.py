"""What the other crews' work makes expected of each crew's cracks."""

from collections.abc import Callable, Mapping
from datetime import date
from itertools import pairwise

import numpy as np
import polars as pl
import pytest

from analytics.errors import TooFewError
from analytics.risk import FEATURES, READ, HazardModel, Penalties, expected, fit
from analytics.risk.crossfit import MOST_FITS, CrossFit, cross_fit
from analytics.stats import slices

HANDED = tuple(feature for feature in FEATURES if feature.kind == "handed")
PENALTIES = Penalties(features=16.0, crews=16.0)
Simulate = Callable[..., pl.DataFrame]


def watched(follow_up: pl.DataFrame) -> np.ndarray:
    return follow_up["watched_days"].to_numpy()


def by_crew(follow_up: pl.DataFrame, found: CrossFit) -> dict[str, float]:
    counted = follow_up.select("crew_id", expected=pl.Series(found.until(watched(follow_up))))
    return dict(counted.group_by("crew_id").agg(pl.col("expected").sum()).iter_rows())


@pytest.fixture(scope="module")
def found(world: pl.DataFrame) -> CrossFit:
    return cross_fit(world, PENALTIES, HANDED)


def test_it_is_a_model_fitted_to_the_other_crews(world: pl.DataFrame, found: CrossFit, model: HazardModel) -> None:
    """Each crew's cracks by a model of the others' alone; only centres and scales are learnt from all."""
    for crew in ("C-1", "C-5"):
        own = pl.col("crew_id") == crew
        others = fit(world.filter(~own), model.as_of, PENALTIES, HANDED, with_crews=False)
        plain = expected(others, world.filter(own))["expected"].to_numpy().sum()
        assert by_crew(world, found)[crew] == pytest.approx(plain, rel=0.01)


def test_a_crews_own_leak_backs_do_not_change_what_is_expected_of_it(world: pl.DataFrame, found: CrossFit) -> None:
    spared = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("crew_id") != "C-5"))
    again = by_crew(spared, cross_fit(spared, PENALTIES, HANDED))
    before = by_crew(world, found)
    assert again["C-5"] == pytest.approx(before["C-5"], rel=1e-9)
    assert again["C-1"] < 0.97 * before["C-1"]


def test_level_crews_have_as_many_as_expected_and_the_bad_one_more(simulate: Simulate) -> None:
    level: Mapping[str, float] = {f"C-{n}": 0.0 for n in range(1, 6)} | {"C-6": 0.9}
    world = simulate(6000, 3, crew=level)
    seen = dict(world.group_by("crew_id").agg(pl.col("leaked_back").sum()).iter_rows())
    ratio = {crew: seen[crew] / count for crew, count in by_crew(world, cross_fit(world, PENALTIES, HANDED)).items()}
    assert ratio["C-6"] > 1.9
    assert all(0.6 < ratio[f"C-{n}"] < 1.05 for n in range(1, 6))  # the bad crew is among their others


def test_expected_grows_with_age_and_is_the_hazard_times_the_time(found: CrossFit) -> None:
    n = len(found.places)
    ages = [found.until(np.full(n, float(days))) for days in (0, 91, 200, 365, 2000)]
    assert (ages[0] == 0).all()
    assert all((later > earlier).all() for earlier, later in pairwise(ages))
    assert ages[1] == pytest.approx(found.hazards[:, 0] * 91 / 365.25)


def test_expected_is_as_unsure_as_the_others_leak_backs_are_few(world: pl.DataFrame) -> None:
    """Jobs drawn again from the others: the spread of a crew's expected is what the delta method says."""
    two = world.with_columns(crew_id=pl.when(pl.col("crew_id") == "C-2").then("crew_id").otherwise(pl.lit("others")))
    own, others = two.filter(pl.col("crew_id") == "C-2"), two.filter(pl.col("crew_id") == "others")
    jobs = others["job_id"].unique().sort()
    rng = np.random.default_rng(4)
    totals = []
    for _ in range(25):
        drawn = pl.DataFrame({"job_id": jobs[rng.integers(0, len(jobs), len(jobs))]})
        again = pl.concat([drawn.join(others, on="job_id", maintain_order="left").select(own.columns), own])
        totals.append(by_crew(again, cross_fit(again, PENALTIES, HANDED))["C-2"])
    said = cross_fit(two, PENALTIES, HANDED).relative_variance(watched(two))["C-2"]
    assert 0.8 < said * others.filter("leaked_back").height < 3
    assert np.std(totals, ddof=1) / np.mean(totals) == pytest.approx(np.sqrt(said), rel=0.4)


def test_many_crews_are_left_out_by_turns(simulate: Simulate) -> None:
    world = simulate(2500, 5, crew={f"C-{n}": 0.0 for n in range(30)})
    found = cross_fit(world, PENALTIES, HANDED)
    models = {id(left) for left in found.left}
    assert len(found.crews) == 30
    assert len(models) == MOST_FITS
    assert sum(by_crew(world, found).values()) == pytest.approx(float(world["leaked_back"].sum()), rel=0.03)


def test_order_of_rows_and_names_of_crews_change_nothing(simulate: Simulate) -> None:
    world = simulate(2500, 6, crew={f"C-{n}": 0.1 * (n % 3) for n in range(15)})
    names = {f"C-{n}": f"X{(n * 7) % 15}" for n in range(15)}
    turned = world.sample(fraction=1, shuffle=True, seed=3).with_columns(pl.col("crew_id").replace_strict(names))
    one = by_crew(world, cross_fit(world, PENALTIES, HANDED))
    other = by_crew(turned, cross_fit(turned, PENALTIES, HANDED))
    assert {names[crew]: count for crew, count in one.items()} == pytest.approx(other, rel=1e-6)


def test_cracks_without_a_crew_count_among_the_others(world: pl.DataFrame) -> None:
    blank = world.with_columns(crew_id=pl.when(pl.col("crew_id") == "C-1").then(None).otherwise("crew_id"))
    found = cross_fit(blank, PENALTIES, HANDED)
    expected_of = found.until(watched(blank))
    assert "C-1" not in found.crews
    assert (expected_of[blank["crew_id"].is_null().to_numpy()] == 0).all()
    assert by_crew(blank, found)["C-5"] == pytest.approx(by_crew(world, cross_fit(world, PENALTIES, HANDED))["C-5"])


def test_one_crew_alone_has_nobody_to_be_held_against(simulate: Simulate) -> None:
    with pytest.raises(TooFewError, match="there is only one crew"):
        cross_fit(simulate(800, 1, crew={"C-1": 0.0}), PENALTIES, HANDED)


def test_a_crew_whose_others_are_too_few_silences_only_itself(world: pl.DataFrame, found: CrossFit) -> None:
    """The bad crew of a small business has most of its leak-backs: the others still have it to be held against."""
    by_others = pl.col("leaked_back") & (pl.col("crew_id") != "C-5")
    small = world.with_columns(leaked_back=pl.col("leaked_back") & (~by_others | (by_others.cum_sum() <= 8)))
    assert small.filter(crew_id="C-5")["leaked_back"].sum() > 50
    some = cross_fit(small, PENALTIES, HANDED)
    assert some.silent.keys() == {"C-5"}
    said = "the other crews' cracks have 8 leak-backs, too few to say what to expect of a crew: 10 are needed, 2 more"
    assert some.silent["C-5"] == said
    assert some.apart == {"C-5"}
    assert set(some.crews) == set(found.crews) - {"C-5"}
    expected_of = by_crew(small, some)
    assert expected_of.pop("C-5") == 0
    alone = small.filter(pl.col("crew_id") != "C-1")
    plain = fit(alone, date(2025, 6, 30), PENALTIES, HANDED, with_crews=False)
    by_hand = expected(plain, small.filter(crew_id="C-1"))["expected"].to_numpy().sum()
    assert expected_of["C-1"] == pytest.approx(by_hand, rel=0.01)
    assert some.relative_variance(watched(small)).keys() == expected_of.keys()


def test_whether_a_crew_is_judged_hangs_on_its_share_of_the_work_not_on_its_luck(world: pl.DataFrame) -> None:
    """Were its others' own leak-backs asked for, of some 60 in all only crews with few could be judged."""
    of_few = pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 63)
    few = world.with_columns(leaked_back=of_few)
    counts = dict(few.group_by("crew_id").agg(pl.col("leaked_back").sum()).iter_rows())
    assert min(counts.values()) < 13 < max(counts.values())  # of 50 others, 13 are left for a crew's own
    found = cross_fit(few, PENALTIES, HANDED)
    size = dict(few.group_by("crew_id").len().iter_rows())
    assert set(found.crews) | set(found.silent) == set(counts)
    assert max(counts, key=lambda crew: counts[crew] / size[crew]) in found.crews
    assert all("at the rate of all, the other crews' cracks would have 4" in said for said in found.silent.values())


def test_where_every_crews_others_are_too_few_that_is_said(world: pl.DataFrame) -> None:
    few = world.with_columns(leaked_back=pl.col("leaked_back") & (pl.col("leaked_back").cum_sum() <= 49))
    with pytest.raises(TooFewError, match="leak-backs, too few to say what to expect of a crew: 50 are needed"):
        cross_fit(few, PENALTIES, HANDED)


def test_a_few_cracks_at_a_time_words_by_number_and_no_other_columns_come_to_the_same(
    world: pl.DataFrame, found: CrossFit, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = [pl.col(name).cast(pl.Enum(world[name].drop_nulls().unique())) for name in ("water", "resin", "movement")]
    monkeypatch.setattr(slices, "SLICE", 1000)
    some = cross_fit(world.select(READ).with_columns(words), PENALTIES, HANDED)
    assert some.hazards == pytest.approx(found.hazards, rel=1e-9)
    variances = (each.relative_variance(watched(world)) for each in (some, found))
    assert next(variances) == pytest.approx(next(variances), rel=1e-9)

"""Cracks that took too much resin: those with an empty space behind them are found, and hardly any other is."""

import numpy as np
import polars as pl
import pytest

from analytics.decisions.take_ratio import BY_CHANCE, MISREAD_MM, _often, slip_said, watch
from analytics.demo import world
from analytics.demo.truth import TRUTH
from analytics.demo.work import with_expected_work
from analytics.errors import TooFewError
from tests.worlds import follow_up

TAKE = {crew.code: crew.take for crew in TRUTH.crews}


def planted(done: pl.DataFrame) -> set[str]:
    """The cracks in front of an empty space: 4 to 9 times what is expected, where errors of 0.25 hardly reach 2.5."""
    known = with_expected_work(done.drop("port_count").drop_nulls(["width_mm", "resin_litres"]))
    crew = pl.col("crew_id").replace_strict(TAKE, return_dtype=pl.Float64)
    # A hundredth of a litre is what is written down; under 0.03 L rounding alone can double it
    far = (pl.col("resin_litres") / (pl.col("expected_litres") * crew) > 3.0) & (pl.col("resin_litres") >= 0.03)
    return set(known.filter(far)["crack_id"])


@pytest.mark.parametrize("seed", [136, 7])
def test_the_spaces_behind_the_wall_are_found(seed: int) -> None:
    done = follow_up(world(seed=seed))
    found = watch(done)
    listed = {each.crack_id for each in found.excesses}
    truly = planted(done)
    assert len(truly) > 12
    assert len(truly & listed) >= 0.95 * len(truly)
    assert len(listed - truly) <= 5  # one by chance is expected; five or more of one have a chance under 0.4 %
    assert found.under <= 4
    assert found.cracks == done.filter(pl.col("resin_litres") > 0, pl.col("width_mm").is_not_null()).height


def test_the_largest_excess_comes_first_and_is_measured_from_the_middle() -> None:
    found = watch(follow_up(world(seed=5, n_jobs=1500))).excesses
    over = [each.litres - each.explained for each in found]
    assert over == sorted(over, reverse=True)
    for each in found:
        assert each.times == pytest.approx(each.litres / each.explained)
        assert each.implied_width_mm == pytest.approx(each.width_mm * each.times)
        assert each.times > 1.8


def even_cracks(count: int = 1500, seed: int = 1) -> pl.DataFrame:
    """Done cracks with nothing odd: normal errors of the log litres, level crews."""
    rng = np.random.default_rng(seed)
    done = follow_up(world(seed=seed, n_jobs=count)).drop_nulls(["width_mm"])
    void = pl.col("width_mm") * pl.col("wall_thickness_mm") * pl.col("length_m") / 1000
    return done.with_columns(resin_litres=void * np.exp(rng.normal(0, 0.25, done.height)))


def test_with_nothing_odd_about_one_crack_is_listed() -> None:
    counts = [watch(even_cracks(seed=seed)) for seed in range(1, 9)]
    listed = sum(len(found.excesses) for found in counts)
    assert all(found.by_chance == BY_CHANCE for found in counts)
    assert 1 <= listed <= 18  # eight expected; Poisson, 99.9 % within
    assert sum(found.under for found in counts) <= 18


def test_a_wasteful_crew_is_named_as_such() -> None:
    done = even_cracks()
    wasted = done.filter(pl.col("crew_id") == "C04")["crack_id"].to_list()[:12]
    spilt = done.with_columns(
        resin_litres=pl.when(pl.col("crack_id").is_in(wasted))
        .then(pl.col("resin_litres") * 4)
        .otherwise("resin_litres")
    )
    readings = {each.crack_id: each for each in watch(spilt).excesses}
    assert set(wasted) - set(readings) == set() or len(set(wasted) & set(readings)) >= 11
    assert {readings[crack].reading for crack in wasted if crack in readings} == {"waste"}
    assert "crew C04 has" in readings[next(iter(set(wasted) & set(readings)))].why


def test_one_job_with_a_space_behind_all_its_cracks_does_not_make_its_crew_wasteful() -> None:
    done = even_cracks()
    sizes = done.group_by("job_id").len().sort("len", "job_id", descending=True)
    job = pl.col("job_id") == sizes["job_id"][0]
    assert sizes["len"][0] >= 4
    swallowed = done.with_columns(resin_litres=pl.when(job).then(pl.col("resin_litres") * 6).otherwise("resin_litres"))
    found = [each for each in watch(swallowed).excesses if each.job_id == sizes["job_id"][0]]
    assert len(found) >= 4
    assert {each.reading for each in found} <= {"an empty space behind the wall", "width measured too small"}


def test_chance_alone_hardly_ever_calls_a_crew_wasteful() -> None:
    # By crew instead of over all, at 1 % each, 8 % of lists of ten jobs of twelve level crews named one (simulated)
    rng, crews = np.random.default_rng(0), [f"C{n:02}" for n in range(1, 13)]
    lists = [pl.Series(rng.choice(crews, 10)) for _ in range(1000)]
    assert sum(bool(_often(listed, pl.Series(crews * 100))) for listed in lists) <= 18  # 1 % of 1000; 99 % within


def test_a_width_that_need_only_be_a_little_more_is_read_as_measured_too_small() -> None:
    done = even_cracks()
    narrow, wide = (
        done.filter(pl.col("width_mm").is_between(*band))["crack_id"].to_list()[0]
        for band in ((0.08, 0.14), (1.0, 2.0))
    )
    odd = done.with_columns(
        resin_litres=pl.when(pl.col("crack_id").is_in([narrow, wide]))
        .then(pl.col("resin_litres") * 4)
        .otherwise("resin_litres")
    )
    readings = {each.crack_id: each for each in watch(odd).excesses}
    assert readings[narrow].reading == "width measured too small"
    assert readings[narrow].implied_width_mm - readings[narrow].width_mm <= MISREAD_MM
    assert readings[wide].reading == "an empty space behind the wall"


@pytest.mark.parametrize(
    ("slipped", "said"),
    [
        (0.0, "or 0.999 L written as 9.99 L"),
        (1.95, "or 0.999 L written as 9.99 L"),  # 95 % of a normal lies within 1.96
        (-1.95, "or 0.999 L written as 9.99 L"),
        (1.97, ""),
        (-1.97, ""),
    ],
)
def test_a_slip_of_the_decimal_point_is_possible_where_a_tenth_would_be_usual(slipped: float, said: str) -> None:
    assert slip_said(9.99, slipped) == said


def test_litres_mistyped_by_one_place_are_said_to_be_possibly_so() -> None:
    done = even_cracks()
    mistyped, spilt = done.filter(pl.col("width_mm").is_between(1.0, 2.0))["crack_id"].to_list()[:2]
    factors = {mistyped: 10.0, spilt: 4.0}
    factor = pl.col("crack_id").replace_strict(factors, default=1.0, return_dtype=pl.Float64)
    expected = {row["crack_id"]: row["resin_litres"] for row in done.to_dicts()}
    odd = done.with_columns(resin_litres=pl.col("resin_litres") * factor)
    found = {each.crack_id: each for each in watch(odd).excesses}
    meant, typed = expected[mistyped], found[mistyped].litres
    assert found[mistyped].slip == f"or {meant:.4g} L written as {typed:.4g} L"
    assert found[mistyped].reading == "an empty space behind the wall"
    assert found[spilt].slip == ""


def test_too_few_cracks_say_how_many_more_would_do() -> None:
    with pytest.raises(TooFewError, match="more would do"):
        watch(even_cracks(20))

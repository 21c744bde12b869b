"""Litres and minutes from finished cracks: the centre, the crews, the interval, and what is said where it is thin."""

from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.decisions import estimating
from analytics.decisions.estimating import (
    FEWEST_CRACKS,
    FEWEST_GROUP_JOBS,
    Quantity,
    WorkModel,
    can_tell,
    estimate,
    estimate_jobs,
    fit_with_crews,
    learn,
)
from analytics.demo import world
from analytics.errors import LeakbackError, TooFewError
from analytics.stats import slices
from analytics.stats.conformal import conformal_quantile
from analytics.stats.least_squares import Floats
from tests.worlds import follow_up


@pytest.fixture(scope="module")
def done() -> pl.DataFrame:
    return follow_up(world(seed=41, n_jobs=1500))


@pytest.fixture(scope="module")
def litres(done: pl.DataFrame) -> WorkModel:
    return learn("resin_litres", done)


@pytest.fixture(scope="module")
def minutes(done: pl.DataFrame) -> WorkModel:
    return learn("labour_minutes", done)


def plain(crack_id: str = "K", **values: object) -> dict[str, object]:
    facts: dict[str, object] = {
        "crack_id": crack_id,
        "job_id": crack_id,
        "crew_id": None,
        "access": "open",
        "resin": "epoxy",
        "water": "dry",
        "length_m": 2.4,
        "width_mm": 0.5,
        "wall_thickness_mm": 200.0,
        "port_spacing_mm": 200.0,
    }
    return facts | values


def frame(*rows: dict[str, object]) -> pl.DataFrame:
    return pl.DataFrame(rows, schema_overrides={"crew_id": pl.String, "width_mm": pl.Float64, "resin": pl.String})


def test_the_middle_is_near_what_is_true(litres: WorkModel, minutes: WorkModel) -> None:
    # The demo's truth: 1.3 L a litre of void (epoxy, 0.5 mm) and 30 + 22 m + 5 ports minutes, times log-normal errors
    found = estimate(litres, frame(plain())).row(0, named=True)
    assert found["expected"] == pytest.approx(0.5 * 200 * 2.4 / 1000 * 1.3 * np.exp(0.25**2 / 2), rel=0.08)
    found = estimate(minutes, frame(plain())).row(0, named=True)
    assert found["expected"] == pytest.approx((30 + 22 * 2.4 + 5 * 13) * np.exp(0.18**2 / 2), rel=0.05)
    assert found["low"] < found["expected"] < found["high"]


def test_more_crack_takes_more_resin(litres: WorkModel) -> None:
    rows = frame(plain(), plain(length_m=4.8), plain(width_mm=1.0), plain(wall_thickness_mm=300.0))
    found = estimate(litres, rows)["expected"].to_list()
    assert found[1] / found[0] == pytest.approx(2, rel=0.15)
    assert found[2] / found[0] == pytest.approx(2**1.12, rel=0.15)
    assert found[3] / found[0] == pytest.approx(1.5, rel=0.15)


@pytest.mark.parametrize("quantity", ["resin_litres", "labour_minutes"])
def test_what_no_finished_crack_has_recorded_changes_nothing_of_the_next(
    done: pl.DataFrame, quantity: Quantity
) -> None:
    """Blank on all of them it is like the level, and no part of that may go when the next crack has it written down."""
    blank = done.with_columns(
        port_spacing_mm=pl.lit(None, pl.Float64), access=pl.lit(None, pl.String), water=pl.lit("dry")
    )
    model = learn(quantity, blank)
    plainly = plain(access=None, port_spacing_mm=None)
    rows = frame(plainly, plain(port_spacing_mm=None), plain(access="open"), plainly | {"water": "running"})
    found = estimate(model, rows)["expected"].to_list()
    assert found == pytest.approx([found[0]] * 4, rel=1e-9)
    usual = blank.filter(pl.col("length_m").is_between(2.2, 2.6), pl.col("width_mm").is_between(0.3, 0.8))
    assert usual[quantity].quantile(0.1) < found[0] < usual[quantity].quantile(0.9)


def test_a_measurement_that_is_blank_counts_at_its_mean_on_all_that_rests_on_it(done: pl.DataFrame) -> None:
    """Its void and its ports with it: left at their own means beside a short length, they would foretell nonsense."""
    model = learn("labour_minutes", done.with_columns(port_spacing_mm=pl.lit(None, pl.Float64)))
    mean = float(np.exp(model.means["wall_thickness_mm"]))
    rows = frame(*(plain(length_m=length, wall_thickness_mm=wall) for length in (1.0, 4.0) for wall in (None, mean)))
    found = estimate(model, rows.with_columns(pl.lit(None, pl.Float64).alias("port_spacing_mm")))["expected"].to_list()
    assert found[::2] == pytest.approx(found[1::2], rel=1e-9)


def test_work_of_one_day_is_foretold_by_its_mean(done: pl.DataFrame) -> None:
    day = done.with_columns(done_on=pl.lit(date(2025, 1, 6)))
    found = estimate(learn("labour_minutes", day), frame(plain(), plain(length_m=9.0)))["expected"].to_list()
    assert found == pytest.approx([day["labour_minutes"].mean()] * 2, rel=0.05)


def test_work_without_any_crew_is_learnt_from(done: pl.DataFrame) -> None:
    nobody = learn("labour_minutes", done.with_columns(crew_id=pl.lit(None, pl.String)))
    one, other = (
        estimate(model, frame(plain()))["expected"].item() for model in (nobody, learn("labour_minutes", done))
    )
    assert nobody.crews == {}
    assert one == pytest.approx(other, rel=0.05)


def test_a_word_on_a_few_cracks_only_has_no_effect_of_its_own(done: pl.DataFrame) -> None:
    known = pl.col("access") == "open"
    few = done.with_columns(access=pl.when(known & (known.cum_sum() <= 4)).then("access"))
    told = done.with_columns(access=pl.when(known & (known.cum_sum() <= 400)).then("access"))
    rows = frame(plain(), plain(access=None))
    one, other = estimate(learn("labour_minutes", few), rows)["expected"].to_list()
    assert one == pytest.approx(other, rel=1e-9)
    one, other = estimate(learn("labour_minutes", told), rows)["expected"].to_list()
    assert one != pytest.approx(other, rel=1e-3)


def test_a_higher_level_is_wider(minutes: WorkModel) -> None:
    ends = [estimate(minutes, frame(plain()), level).row(0)[1:] for level in (0.5, 0.8, 0.95)]
    lows, middles, highs = zip(*ends, strict=True)
    assert lows[0] > lows[1] > lows[2]
    assert highs[0] < highs[1] < highs[2]
    assert len(set(middles)) == 1
    with pytest.raises(LeakbackError, match="level"):
        estimate(minutes, frame(plain()), 1.0)


def test_each_resin_has_its_own_errors_where_there_are_enough(done: pl.DataFrame) -> None:
    # Foam made five times as uncertain: one interval for both would be wrong for both
    noise = np.random.default_rng(8).normal(0, 1.0, done.height)
    uneven = done.with_columns(
        resin_litres=pl.when(pl.col("resin") == "urethane_foam")
        .then(pl.col("resin_litres") * np.exp(noise))
        .otherwise("resin_litres")
    )
    model = learn("resin_litres", uneven)
    assert min(group.jobs for group in model.by_resin.values()) >= FEWEST_GROUP_JOBS
    rows = estimate(model, frame(plain("K"), plain("L", resin="urethane_foam"))).with_columns(
        reach=(pl.col("high") / pl.col("low")).log() / 2
    )
    assert rows["reach"][1] > 2.5 * rows["reach"][0]


def test_a_resin_with_few_jobs_is_calibrated_with_the_others(done: pl.DataFrame) -> None:
    first_foam = done.filter(pl.col("resin") == "urethane_foam").sort("done_on").head(150)
    model = learn("resin_litres", pl.concat([done.filter(pl.col("resin") == "epoxy"), first_foam]))
    assert set(model.by_resin) == {"epoxy"}
    pooled = conformal_quantile(model.overall.log_errors, 0.8)
    found = estimate(model, frame(plain(resin="urethane_foam"))).row(0, named=True)
    assert np.log(found["high"] / found["low"]) / 2 == pytest.approx(pooled)


def test_the_calibrating_jobs_are_the_latest_quarter_and_no_job_is_on_both_sides(done: pl.DataFrame) -> None:
    known = done.filter(pl.col("labour_minutes") > 0)
    model = learn("labour_minutes", done)
    jobs = known.group_by("job_id").agg(pl.col("done_on").first()).sort("done_on")
    assert model.overall.jobs == pytest.approx(0.25 * jobs.height, rel=0.02)
    latest = known.filter(pl.col("done_on") >= jobs["done_on"][-model.overall.jobs])
    assert latest["job_id"].n_unique() == model.overall.jobs
    assert len(model.overall.log_errors) == latest.height
    assert len(model.fit.residuals) == known.height - latest.height


def test_too_little_history_is_said_with_how_much_more_would_do(done: pl.DataFrame) -> None:
    few = done.drop_nulls(["resin_litres", "width_mm"]).head(37)
    with pytest.raises(TooFewError, match=r"recorded on 37 finished cracks, 63 more would do"):
        learn("resin_litres", few)
    assert FEWEST_CRACKS == 100
    with pytest.raises(TooFewError, match="100 more would do"):
        learn("labour_minutes", done.clear())


def test_a_level_that_the_calibrating_cracks_cannot_reach_has_no_ends(done: pl.DataFrame) -> None:
    model = learn("labour_minutes", done.drop_nulls(["labour_minutes"]).head(110))
    found = estimate(model, frame(plain()), 0.99).row(0, named=True)
    assert found["low"] is found["high"] is None
    assert found["expected"] > 0
    assert estimate_jobs(model, frame(plain()), 0.99).row(0, named=True)["high"] is None


def test_litres_need_the_void_and_minutes_only_the_length(litres: WorkModel, minutes: WorkModel) -> None:
    rows = frame(plain("A", width_mm=None), plain("B", resin=None), plain("C", water=None, port_spacing_mm=None))
    assert estimate(litres, rows)["expected"].is_null().to_list() == [True, True, False]
    assert estimate(minutes, rows)["expected"].is_null().to_list() == [False, False, False]
    assert can_tell("labour_minutes", frame(plain(length_m=None), plain())).tolist() == [False, True]


def test_the_order_of_rows_changes_nothing(done: pl.DataFrame, litres: WorkModel) -> None:
    shuffled = learn("resin_litres", done.sample(fraction=1.0, shuffle=True, seed=2))
    rows = frame(plain("A"), plain("B", length_m=1.0))
    assert estimate(shuffled, rows).equals(estimate(litres, rows))


def test_a_few_cracks_at_a_time_and_no_more_columns_than_are_read_come_to_the_same(
    done: pl.DataFrame, litres: WorkModel, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []

    def columns(cracks: pl.DataFrame, means: Mapping[str, float]) -> Floats:
        asked.append(cracks.height)
        return made(cracks, means)

    made = estimating._columns
    monkeypatch.setattr(estimating, "_columns", columns)
    monkeypatch.setattr(slices, "SLICE", 100)
    some = learn("resin_litres", done.select(*estimating.READ, "resin_litres"))
    assert max(asked) == 100
    rows = frame(plain("A"), plain("B", length_m=1.0, crew_id="C05"))
    assert_frame_equal(estimate(some, rows), estimate(litres, rows), rel_tol=1e-9)


def test_a_slow_crew_is_found_and_a_rare_one_is_shrunk() -> None:
    rng = np.random.default_rng(5)
    crews = ["slow"] * 300 + ["usual"] * 300 + ["other"] * 300 + ["rare"] * 3
    true = {"slow": 0.3, "usual": -0.15, "other": -0.15, "rare": 0.6}
    x = np.column_stack([np.ones(len(crews)), rng.normal(size=len(crews))])
    y = x @ np.array([1.0, 0.5]) + np.array([true[crew] for crew in crews]) + rng.normal(0, 0.5, len(crews))
    fit, effects = fit_with_crews(x, y, pl.Series(crews))
    assert fit.coefficients[1] == pytest.approx(0.5, abs=0.05)
    assert effects["slow"] - effects["usual"] == pytest.approx(0.45, abs=0.1)
    raw = (y - x @ fit.coefficients[:2])[-3:].mean()
    assert 0 < effects["rare"] < 0.8 * raw


def test_crews_that_do_not_differ_have_no_effect() -> None:
    rng = np.random.default_rng(6)
    crews = pl.Series(np.repeat([f"C{i}" for i in range(8)], 50))
    x, y = np.ones((400, 1)), rng.normal(size=400)
    effects = fit_with_crews(x, y, crews)[1]
    assert max(map(abs, effects.values()), default=0.0) < 0.1
    assert fit_with_crews(x, y, pl.Series(["C1"] * 400))[1] == {}


def test_a_job_is_surer_than_its_cracks_added_up(minutes: WorkModel) -> None:
    rows = frame(*(plain(f"K{i}", job_id="J") for i in range(4)))
    each, job = estimate(minutes, rows), estimate_jobs(minutes, rows).row(0, named=True)
    assert job["expected"] == pytest.approx(each["expected"].sum())
    assert each["low"].sum() < job["low"] < job["expected"] < job["high"] < each["high"].sum()
    unknown = frame(plain("A", job_id="J"), plain("B", job_id="J", length_m=None))
    assert estimate_jobs(minutes, unknown).row(0, named=True)["expected"] is None


def test_a_job_of_one_crack_is_told_as_its_crack_is(litres: WorkModel) -> None:
    rows = frame(plain("A"), plain("B", resin="urethane_foam"))
    each, jobs = estimate(litres, rows), estimate_jobs(litres, rows)
    assert jobs.rename({"job_id": "crack_id"}).equals(each)


def test_the_latest_jobs_set_the_width(done: pl.DataFrame) -> None:
    # Work gone twice as uneven in the last quarter is what the next job is like
    last = done["done_on"].max()
    assert isinstance(last, date)
    noise = np.random.default_rng(9).normal(0, 0.6, done.height)
    recent = pl.col("done_on") > last - timedelta(days=500)
    wilder = done.with_columns(
        labour_minutes=pl.when(recent).then(pl.col("labour_minutes") * np.exp(noise)).otherwise("labour_minutes")
    )
    reach = [
        np.log(row["high"] / row["low"])
        for row in (
            estimate(learn("labour_minutes", each), frame(plain())).row(0, named=True) for each in (done, wilder)
        )
    ]
    assert reach[1] > 2 * reach[0]

"""Crews against expected: what is signalled, by which limits, and that names and order do not matter."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from analytics.crews import Profile, profile
from analytics.crews.limits import expected_needed, limit, p_value
from analytics.stats.intervals import garwood
from analytics.stats.multiplicity import adjusted

CrewCounts = dict[str, tuple[int, float]]


def cracks_of(counts: CrewCounts) -> pl.DataFrame:
    """One crack for each leak-back and one for the rest of a crew's expected."""
    rows = []
    for crew, (observed, expected) in counts.items():
        rows += [{"crew_id": crew, "observed": 1, "expected": expected / (observed + 1)}] * observed
        rows.append({"crew_id": crew, "observed": 0, "expected": expected / (observed + 1)})
    return pl.DataFrame(rows)


def signals(found: Profile) -> dict[str, str]:
    return dict(found.rows.select("crew_id", "signal").iter_rows())


TWELVE: CrewCounts = {"C05": (68, 33.0)} | {f"L{n:02}": (int(e * 0.95), e) for n, e in enumerate(range(18, 51, 3))}


def test_a_crew_is_observed_over_expected_with_the_exact_interval() -> None:
    """10 seen: 4.795 to 18.390 (Garwood 1936), over 8 expected."""
    row = profile(cracks_of({"A": (10, 8.0), "B": (8, 8.0)})).rows.row(
        by_predicate=pl.col("crew_id") == "A", named=True
    )
    assert (row["cracks"], row["observed"]) == (11, 10)
    assert row["expected"] == pytest.approx(8)
    assert (row["ratio"], row["low"], row["high"]) == pytest.approx((1.25, 4.7954 / 8, 18.3904 / 8), abs=1e-4)


def test_the_crew_twice_as_bad_stands_out_alone() -> None:
    found = profile(cracks_of(TWELVE))
    assert {crew for crew, signal in signals(found).items() if signal != "none"} == {"C05"}
    assert found.rows["crew_id"][0] == "C05"
    row = found.rows.row(0, named=True)
    assert row["signal"] == "high"
    assert row["ratio"] > row["shrunken"] > 1.25
    assert row["chance_over"] > 0.9


def test_a_crew_far_better_is_signalled_low() -> None:
    counts = TWELVE | {"Z": (10, 40.0)}
    assert signals(profile(cracks_of(counts)))["Z"] == "low"


def test_q_values_are_benjamini_and_hochbergs_over_all_crews() -> None:
    rows = profile(cracks_of(TWELVE)).rows
    assert rows["q_value"].to_list() == pytest.approx(adjusted(rows["p_value"].to_numpy()).tolist())


def test_chance_alone_decides_among_few_crews_and_the_spread_among_many() -> None:
    """Crews that differ anyway: with 6 the wide limits are shown only, with 40 they decide."""
    rng = np.random.default_rng(4)
    ratio = rng.gamma(1 / 0.16, 0.16, 40)
    counts: CrewCounts = {f"C{n:02}": (int(rng.poisson(50 * r)), 50.0) for n, r in enumerate(ratio)}
    many = profile(cracks_of(counts))
    few = profile(cracks_of(dict(list(counts.items())[:6])))
    assert many.by_spread
    assert not few.by_spread
    assert many.spread == pytest.approx(0.16, abs=0.1)
    beyond_chance = many.rows.filter(pl.col("ratio") > pl.col("limit_high_998")).height
    assert beyond_chance > many.rows.filter(pl.col("signal") == "high").height
    assert many.rows.filter((pl.col("signal") == "high") & (pl.col("ratio") < pl.col("wide_high_95"))).is_empty()


def test_one_bad_crew_among_few_does_not_hide_itself() -> None:
    counts: CrewCounts = {"bad": (62, 25.0)} | {f"L{n}": (25, 25.0) for n in range(5)}
    found = profile(cracks_of(counts))
    row = found.rows.row(by_predicate=pl.col("crew_id") == "bad", named=True)
    assert row["wide_high_998"] > row["limit_high_998"]
    assert row["signal"] == "high"


def test_expected_that_is_itself_unsure_signals_less() -> None:
    """Two crews alike in size, expected from each other: 60 against 35 is twice as unsure as Poisson says."""
    counts: CrewCounts = {"A": (60, 35.0), "B": (35, 60.0)}
    assert set(signals(profile(cracks_of(counts))).values()) == {"high", "low"}
    unsure = profile(cracks_of(counts), {"A": 1 / 35, "B": 1 / 60})
    p = dict(unsure.rows.select("crew_id", "p_value").iter_rows())
    assert p["A"] > 0.005
    narrow = profile(cracks_of(counts)).rows["limit_high_998"].to_numpy()
    assert (unsure.rows["limit_high_998"].to_numpy() > narrow).all()


def test_two_crews_of_one_business_are_seldom_signalled_by_chance() -> None:
    """Expected of either from the other alone: without its own error one business in six would see a signal."""
    one, other = np.random.default_rng(11).poisson(40, (2, 4000)).astype(float)
    plain, careful = p_value(one, other), p_value(one, other, 1 / other)
    assert (careful < 0.025).mean() < 0.03
    assert (plain < 0.025).mean() > 0.08


def test_jobs_that_leak_together_widen_the_limits() -> None:
    rng = np.random.default_rng(6)
    crews = np.repeat(np.arange(4), 1500)
    jobs = np.repeat(np.arange(2000), 3)
    leaks = (rng.random(2000) < 0.04)[jobs]
    cracks = pl.DataFrame(
        {"crew_id": [f"C{c}" for c in crews], "job_id": jobs, "observed": leaks.astype(int), "expected": 0.04}
    )
    apart, together = profile(cracks.drop("job_id")), profile(cracks)
    assert apart.clustering == 1
    assert together.clustering == pytest.approx(3, abs=0.15)
    assert (together.rows["limit_high_998"] > apart.rows["limit_high_998"]).all()


def test_a_crew_takes_more_work_to_judge_where_cracks_leak_together_or_the_expected_is_unsure() -> None:
    """Simulated gamma-Poisson counts of variance 2.3 E: twice as many were past the limit in 27 % at 20.5 expected."""
    known = profile(cracks_of(TWELVE))
    unsure = profile(cracks_of(TWELVE), dict.fromkeys(TWELVE, 0.02))
    hopeless = profile(cracks_of(TWELVE), dict.fromkeys(TWELVE, 0.06))
    assert known.rows["needed"].unique().to_list() == [expected_needed()]
    assert unsure.rows["needed"].unique().to_list() == pytest.approx(
        [expected_needed() / (1 - 0.02 * expected_needed())]
    )
    assert not hopeless.rows.filter(pl.col("signal") == "none")["judged"].any()
    rng, mean = np.random.default_rng(0), 2.3 * expected_needed()
    twice = rng.poisson(rng.gamma(2 * mean / 1.3, 1.3, 20_000))
    assert (twice / mean > limit(mean, 0.999, 1.3 / mean)).mean() > 0.75


def test_a_small_crew_is_not_judged_and_a_crew_with_nothing_expected_is_blank() -> None:
    counts = TWELVE | {"tiny": (1, 0.8), "today": (0, 0.0)}
    rows = {row["crew_id"]: row for row in profile(cracks_of(counts)).rows.to_dicts()}
    assert not rows["tiny"]["judged"]
    assert rows["tiny"]["signal"] == "none"
    assert rows["today"]["ratio"] is None
    assert rows["today"]["signal"] == "none"
    assert rows["C05"]["judged"]


def test_no_crew_at_all() -> None:
    cracks = pl.DataFrame(schema={"crew_id": pl.String, "observed": pl.Int64, "expected": pl.Float64})
    found = profile(cracks)
    assert found.rows.is_empty()
    assert {"ratio", "signal", "limit_high_998"} <= set(found.rows.columns)


def test_the_lines_are_the_limits() -> None:
    found = profile(cracks_of(TWELVE))
    lines = found.lines(60.0)
    assert lines["expected"].max() == pytest.approx(60)
    at_ten = lines.sort((pl.col("expected") - 10).abs()).row(0, named=True)
    assert at_ten["high_95"] == pytest.approx(1.616, abs=0.03)
    assert (lines["wide_high_998"] >= lines["high_998"] - 1e-9).all()


@settings(deadline=None, max_examples=8)
@given(st.data())
def test_order_of_rows_and_names_of_crews_change_nothing(data: st.DataObject) -> None:
    counts: CrewCounts = {
        f"C{n}": (data.draw(st.integers(0, 40)), data.draw(st.floats(0.5, 30)))
        for n in range(data.draw(st.integers(1, 6)))
    }
    cracks = cracks_of(counts)
    names = dict(zip(counts, data.draw(st.permutations([f"X{n}" for n in range(len(counts))])), strict=True))
    shuffled = cracks.sample(fraction=1, shuffle=True, seed=data.draw(st.integers(0, 99))).with_columns(
        pl.col("crew_id").replace_strict(names)
    )
    one, other = profile(cracks).rows, profile(shuffled).rows
    one = one.with_columns(pl.col("crew_id").replace_strict(names))
    assert_frame_equal(one, other, check_row_order=False, rel_tol=1e-6, abs_tol=1e-9)


def test_intervals_hold_1_where_jobs_leak_together_and_the_expected_is_unsure() -> None:
    """Level crews, counts that vary 1.3 times as much as by chance, expected off by 15 %; Poisson alone holds 91 %."""
    rng = np.random.default_rng(12)
    crews, jobs = np.repeat([f"C{crew}" for crew in range(6)], 300), np.repeat(np.arange(900), 2)
    held, plain = [], []
    for _ in range(80):
        leaking = rng.random(900)
        both, one = leaking < 0.015, (leaking >= 0.015) & (leaking < 0.085)
        observed = np.ravel(np.column_stack([both | one, both])).astype(int)
        expected = 0.05 * np.repeat(rng.lognormal(0, 0.15, 6), 300)
        cracks = pl.DataFrame({"crew_id": crews, "job_id": jobs, "observed": observed, "expected": expected})
        rows = profile(cracks, dict.fromkeys(set(crews.tolist()), 0.15**2)).rows
        held.append(rows.select(((pl.col("low") <= 1) & (pl.col("high") >= 1)).mean()).item())
        low, high = garwood(rows["observed"].to_numpy(), 0.95)
        expected_of = rows["expected"].to_numpy()
        plain.append(((low <= expected_of) & (high >= expected_of)).mean())
    assert np.mean(plain) < 0.91
    assert np.mean(held) > 0.94

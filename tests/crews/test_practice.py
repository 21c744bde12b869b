"""What a crew's habits make of its leak-backs."""

import numpy as np
import polars as pl
import pytest

from analytics.crews import LAPSES, Effects, habits
from analytics.crews.practice import PRACTICES

FEATURES = ("wide_spacing", "dried", "unused", "cleaned")
LOGS = np.array([0.5, -0.4, 9.0, -0.1])
COVARIANCE = np.diag([0.01, 0.02, 1.0, 0.03]) + 0.002


def effects() -> Effects:
    return Effects(FEATURES, LOGS, COVARIANCE)


@pytest.fixture(scope="module")
def cracks() -> pl.DataFrame:
    """Crew A sets wide and does not dry; B and C do as they should; some cracks were not recorded."""
    rng = np.random.default_rng(3)
    crew = np.repeat(["A", "B", "C"], [300, 500, 400])
    bad = crew == "A"
    frame = {
        "crew_id": crew,
        "wide_spacing": rng.random(1200) < np.where(bad, 0.6, 0.1),
        "dried": rng.random(1200) < np.where(bad, 0.2, 0.8),
        "cleaned": rng.random(1200) < 0.9,
    }
    log = 0.5 * frame["wide_spacing"] - 0.4 * frame["dried"] - 0.1 * frame["cleaned"] + rng.normal(0, 0.5, 1200)
    blank = rng.random(1200) < 0.1
    return pl.DataFrame(frame).with_columns(
        pl.when(pl.Series(blank)).then(None).otherwise("dried").alias("dried"), expected=pl.Series(0.05 * np.exp(log))
    )


def test_a_part_is_expected_as_worked_over_expected_as_the_others_work(cracks: pl.DataFrame) -> None:
    """Each crack once with the lapse and once without, weighed by the others' share: a naive walk."""
    found = habits(cracks, effects()).rows.filter(pl.col("crew_id") == "A")
    for feature, log in (("wide_spacing", 0.5), ("dried", 0.4), ("cleaned", 0.1)):
        row = found.row(by_predicate=pl.col("feature") == feature, named=True)
        lapse = LAPSES[feature]
        others = cracks.filter((pl.col("crew_id") != "A") & pl.col(feature).is_not_null())
        share = float(np.mean(others[feature].to_numpy() == lapse))
        as_others = 0.0
        for expected, value in cracks.filter(pl.col("crew_id") == "A").select("expected", feature).iter_rows():
            if value is None:
                as_others += expected
                continue
            without = expected / np.exp(log) if value == lapse else expected
            as_others += share * without * np.exp(log) + (1 - share) * without
        whole = float(cracks.filter(pl.col("crew_id") == "A")["expected"].to_numpy().sum())
        assert row["others_share"] == pytest.approx(share)
        assert row["effect"] == pytest.approx(np.exp(log))
        assert row["part"] == pytest.approx(whole / as_others)


def test_lapses_of_the_crew_that_has_them_make_more_and_those_of_the_others_less(cracks: pl.DataFrame) -> None:
    found = habits(cracks, effects())
    parts = {(row["crew_id"], row["feature"]): row["part"] for row in found.rows.to_dicts()}
    assert parts["A", "wide_spacing"] > 1.15
    assert parts["A", "dried"] > 1.15
    assert parts["A", "cleaned"] == pytest.approx(1, abs=0.01)
    assert parts["B", "wide_spacing"] < 1
    together = dict(found.together.select("crew_id", "part").iter_rows())
    assert together["A"] == pytest.approx(
        np.prod([parts["A", name] for name in LAPSES if ("A", name) in parts]), rel=0.03
    )


def test_intervals_are_those_of_effects_drawn_from_their_covariance(cracks: pl.DataFrame) -> None:
    found = habits(cracks, effects())
    rng = np.random.default_rng(1)
    drawn = [
        habits(cracks, Effects(FEATURES, logs, COVARIANCE)).together.row(0, named=True)["part"]
        for logs in rng.multivariate_normal(LOGS, COVARIANCE, 300)
    ]
    row = found.together.row(0, named=True)
    assert (row["part_low"], row["part_high"]) == pytest.approx(np.quantile(drawn, [0.025, 0.975]), rel=0.04)


def test_what_nobody_recorded_is_left_out(cracks: pl.DataFrame) -> None:
    blank = cracks.with_columns(
        dried=pl.when(pl.col("crew_id") == "A").then(None).otherwise("dried"), cleaned=pl.lit(None, pl.Boolean)
    )
    rows = habits(blank, effects()).rows
    assert set(rows.filter(pl.col("crew_id") == "A")["feature"]) == {"wide_spacing"}
    assert "cleaned" not in rows["feature"]


def test_without_effects_nothing_is_carried(cracks: pl.DataFrame) -> None:
    found = habits(cracks, Effects((), np.zeros(0), np.zeros((0, 0))))
    assert found.rows.is_empty()
    assert found.together["part"].to_list() == [1.0, 1.0, 1.0]


def test_order_of_rows_and_of_effects_change_nothing(cracks: pl.DataFrame) -> None:
    turned = Effects(FEATURES[::-1], LOGS[::-1], COVARIANCE[::-1, ::-1])
    one, other = habits(cracks, effects()), habits(cracks.sample(fraction=1, shuffle=True, seed=2), turned)
    for left, right in zip(one.rows.to_dicts(), other.rows.to_dicts(), strict=True):
        assert left == pytest.approx(right)


def test_a_practice_is_said_in_words_that_follow_the_crews_name() -> None:
    assert all(practice.leaves.split()[0] in {"sets", "leaves"} for practice in PRACTICES)
    assert all(practice.advice.endswith(".") for practice in PRACTICES)


def test_without_any_crack_there_is_no_habit() -> None:
    cracks = pl.DataFrame(schema={"crew_id": pl.String, "expected": pl.Float64, "dried": pl.Boolean})
    found = habits(cracks, Effects(("dried",), np.zeros(1), np.eye(1)), {"dried": False})
    assert found.rows.is_empty()
    assert found.together.is_empty()

"""A crew that reads low only because a bad one is among the others is not said to have fewer; a good one is."""

import math

import polars as pl
import pytest

from analytics.answers import crew_sentences
from analytics.answers.crew_beside import besides, without_high
from analytics.answers.crew_held import Held, within
from analytics.answers.crews import Crews, judge
from analytics.crews import profile
from analytics.demo import Crew, Truth, world
from analytics.demo.days import AS_OF
from analytics.pages import crews as page
from analytics.pages.page import Words
from analytics.risk import Penalties
from tests.worlds import follow_up

BAD, GOOD, LEVEL = "C05", "C03", "C06"


def judged(seed: int, good: float = 1.0) -> Crews:
    """Six crews with about 240 jobs each, one three times as bad, one ``good`` times."""
    times = {BAD: 3.0, GOOD: good}
    crews = tuple(Crew(f"C{n:02}", "East" if n <= 3 else "West", 10) for n in range(1, 7))
    effects = tuple(Crew(c.code, c.branch, c.share, math.log(times.get(c.code, 1.0))) for c in crews)
    return judge(follow_up(world(Truth(crews=effects), seed, 1440)), AS_OF, Penalties(features=16.0, crews=16.0))


@pytest.fixture(scope="module")
def beside_bad() -> Crews:
    """In this one LEVEL is past the lower limit as long as BAD is among the others."""
    return judged(3)


def test_a_level_crew_beside_a_bad_one_is_not_said_to_have_fewer(beside_bad: Crews) -> None:
    row = beside_bad.rows.row(by_predicate=pl.col("crew_id") == LEVEL, named=True)
    assert row["ratio"] < row["limit_low_998"] or row["q_value"] < 0.05
    assert (row["signal"], row["low_beside_high"]) == ("none", True)
    assert row["ratio_without"] > 1.2 * row["ratio"]
    assert row["ratio_without_low"] < 1 < row["ratio_without_high"]
    assert row["note"].startswith("fewer only beside C05: without C05 among the others 0.7\u202f× (0.4 to 1.2)")
    assert "fewer leak-backs" not in crew_sentences.opening(beside_bad.rows, "")


def test_the_page_says_so_and_shows_every_ratio_without_the_bad_crew(beside_bad: Crews) -> None:
    shown = page.judged(beside_bad)
    assert any(f"{LEVEL}: fewer only beside C05" in part.text for part in shown.parts if isinstance(part, Words))
    [column] = [column for column in page.table(beside_bad).columns if column.key == "ratio_without"]
    assert column.label == "without C05"


def test_the_bad_crew_is_found_as_before_and_not_held_again(beside_bad: Crews) -> None:
    row = beside_bad.rows.row(by_predicate=pl.col("crew_id") == BAD, named=True)
    assert (row["signal"], row["low_beside_high"], row["ratio_without"]) == ("high", False, None)
    assert "without" not in row["note"]


def test_a_good_crew_beside_a_bad_one_is_still_found() -> None:
    row = judged(3, good=0.1).rows.row(by_predicate=pl.col("crew_id") == GOOD, named=True)
    assert (row["signal"], row["low_beside_high"]) == ("low", False)
    assert row["ratio"] < row["ratio_without"] < 0.5
    assert row["note"].startswith("fewer than its cracks and chance explain; so too without C05 among the others 0.")


def counts(**crews: tuple[int, float]) -> pl.DataFrame:
    """Cracks of crews by leak-backs seen and expected, a hundred each."""
    return pl.concat(
        pl.DataFrame({"crew_id": name, "observed": [1] * seen + [0] * (100 - seen), "expected": expected / 100})
        for name, (seen, expected) in crews.items()
    )


def test_of_two_crews_the_lower_is_not_praised_for_the_other() -> None:
    rows = without_high(profile(counts(A=(60, 20.0), B=(4, 20.0))).rows, lambda _: None, 24)
    signals = dict(rows.select("crew_id", "signal").iter_rows())
    assert signals == {"A": "high", "B": "none"}
    low = rows.row(by_predicate=pl.col("crew_id") == "B", named=True) | {"more_cracks_needed": None}
    assert crew_sentences.note(low, 24, ["A"], by_spread=False) == (
        "fewer only beside A: without A among the others too little is left to hold it against"
    )


def test_without_a_bad_crew_nothing_is_held_again() -> None:
    def again(high: tuple[str, ...]) -> Held | None:
        raise AssertionError(high)

    rows = without_high(profile(counts(A=(20, 20.0), B=(4, 20.0))).rows, again, 24)
    assert dict(rows.select("crew_id", "signal").iter_rows()) == {"A": "none", "B": "low"}
    assert rows["ratio_without"].null_count() == 2
    assert not rows["low_beside_high"].any()


def test_cracks_of_no_crew_stay_among_the_others() -> None:
    cracks = follow_up(world(Truth(), 3, 1440)).with_columns(
        crew_id=pl.when(pl.col("crew_id") != GOOD).then("crew_id")  # theirs are of no crew now
    )
    held = besides(cracks, Penalties(features=16.0, crews=16.0), (BAD,))
    assert held is not None
    assert held.followed["crew_id"].null_count() == cracks["crew_id"].null_count() > 0
    assert BAD not in held.followed["crew_id"]


def test_a_crew_of_which_too_little_is_left_to_expect_anything_is_held_against_nothing() -> None:
    """Of two that are left, one with hardly any leak-backs, the other has nobody to be held against."""
    truth = Truth(crews=(Crew("C01", "East", 40), Crew("C02", "East", 50), Crew("C03", "West", 10)))
    held = besides(follow_up(world(truth, 3, 1440)), Penalties(features=16.0, crews=16.0), ("C01",))
    assert held is not None
    assert set(held.others.silent) == {"C02"}
    assert held.profile(within(held.followed, 24)).rows["crew_id"].to_list() == ["C03"]

"""The crews judged: on the demo, on small histories, and whatever the rows' order and the crews' names."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.answers import crew_sentences
from analytics.answers.crew_held import within
from analytics.answers.crews import ROW, Crews, crews, judge
from analytics.answers.records import Records
from analytics.demo import world
from analytics.demo.days import AS_OF
from analytics.errors import LeakbackError
from analytics.risk import Penalties
from tests.histories import CRACK, DONE_JOB
from tests.worlds import follow_up

CONTRACT = ("crew_id", "cracks", "observed", "expected", "ratio", "low", "high", "signal")
PENALTIES = Penalties(features=16.0, crews=16.0)


@pytest.fixture(scope="module")
def found(demo_store: Path) -> Crews:
    return crews(Records.of(demo_store))


@pytest.fixture(scope="module")
def rows(found: Crews) -> dict[str, dict[str, Any]]:
    return {row["crew_id"]: row for row in found.rows.to_dicts()}


@pytest.fixture(scope="module")
def cracks() -> pl.DataFrame:
    """A smaller business, as written down."""
    return follow_up(world(seed=3, n_jobs=2000))


def test_the_truly_bad_crew_is_signalled(rows: dict[str, dict[str, Any]]) -> None:
    """Its log hazard is 0.75 over what its habits make: 2.1 times, more with them."""
    bad = rows["C05"]
    assert bad["signal"] == "high"
    assert bad["low"] > 1.5
    assert bad["ratio"] > bad["after_practice"] > 1.3
    assert bad["q_value"] < 0.001
    assert [crew for crew, row in rows.items() if row["signal"] != "none"] == ["C05"]


def test_the_crew_that_gets_the_wet_walls_is_not(found: Crews, rows: dict[str, dict[str, Any]]) -> None:
    plain_rate = {crew: row["observed"] / row["cracks"] for crew, row in rows.items() if row["cracks"] > 100}
    assert sorted(plain_rate, key=lambda crew: -plain_rate[crew])[:2] == ["C05", "C08"]
    assert rows["C08"]["signal"] == "none"
    assert rows["C08"]["ratio"] < 1
    assert rows["C08"]["expected"] / rows["C08"]["cracks"] > 1.2 * rows["C07"]["expected"] / rows["C07"]["cracks"]
    assert found.judged is not None


def test_the_small_crew_is_too_small_and_is_told_how_many_more(rows: dict[str, dict[str, Any]]) -> None:
    small = rows["C12"]
    assert small["signal"] == "none"
    assert 100 < small["more_cracks_needed"] < 500
    assert f"{small['more_cracks_needed']} more cracks watched for 24 months would do" in small["note"]
    assert rows["C01"]["more_cracks_needed"] is None


def test_a_crew_whose_interval_leaves_out_1_without_a_signal_is_said_to_come_nearest(found: Crews) -> None:
    level = {"signal": "none", "more_cracks_needed": None, "expected": 31.8, "observed": 32}
    level |= {"ratio": 1.0, "low": 0.7, "high": 1.4, "p_value": 0.9}
    near = level | {"observed": 50, "ratio": 1.6, "low": 1.2, "high": 2.1, "p_value": 0.02}
    schema = {name: found.rows.schema[name] for name in ("crew_id", *level)}
    both = pl.DataFrame([{"crew_id": "C01", **level}, {"crew_id": "C02", **near}], schema=schema)
    said = crew_sentences.opening(both, "")
    assert said == (
        "None of two crews stands out: chance and the cracks they were given explain the difference. C02 comes "
        "nearest: 50 against 32 expected (1.6\u202f×, 1.2 to 2.1), as one of several crews may by chance."
    )
    assert "nearest" not in crew_sentences.opening(both.filter(pl.col("crew_id") == "C01"), "")
    notes = [crew_sentences.note(row, 24, by_spread=False) for row in both.to_dicts()]
    assert notes[0] == "chance and its cracks explain it"
    assert notes[1].startswith("its interval leaves out 1, ")


def test_what_carries_the_difference_is_said(found: Crews) -> None:
    practices = found.answer()["practices"]
    assert isinstance(practices, list)
    ports = next(p for p in practices if p["crew_id"] == "C05" and p["feature"] == "wide_spacing")
    assert ports["standing"] == "carries"
    assert " what they would be with the others' habit: about " in ports["says"]
    assert ports["says"].startswith("C05 sets ports further apart than the wall is thick on 4")
    drying = next(p for p in practices if p["crew_id"] == "C05" and p["feature"] == "dried")
    assert drying["share"] > 2 * drying["others_share"]


def test_the_run_of_the_bad_crew_passes_its_limit_again_and_again(found: Crews) -> None:
    assert found.judged is not None
    alarms = dict(found.judged.runs.group_by("crew_id").agg(pl.col("alarm").sum()).iter_rows())
    assert alarms["C05"] >= 4
    assert sum(alarms.values()) - alarms["C05"] <= 4


def test_the_months_add_up(found: Crews, rows: dict[str, dict[str, Any]]) -> None:
    assert found.judged is not None
    months = found.judged.runs.group_by("crew_id").agg(pl.col("observed", "expected").sum())
    for crew, observed, expected in months.iter_rows():
        assert observed == rows[crew]["observed"]
        assert expected == pytest.approx(rows[crew]["expected"], rel=1e-9)


def test_the_answer_is_the_same_in_whatever_order_rows_were_added_up(found: Crews) -> None:
    assert found.judged is not None
    off = pl.selectors.float() * (1 + 1e-13)
    habits = replace(found.judged.practices, rows=found.judged.practices.rows.with_columns(off))
    other = replace(found, rows=found.rows.with_columns(off), judged=replace(found.judged, practices=habits))
    assert other.rows.equals(found.rows) is False
    for part in ("rows", "practices"):
        assert other.answer()[part] == found.answer()[part]


def test_the_answer_has_the_contracts_keys_and_a_json_form(found: Crews) -> None:
    answer = json.loads(json.dumps(found.answer(), default=str, allow_nan=False))
    assert {"as_of", "months", "rows", "practices", "alarms", "method"} <= answer.keys()
    assert len(answer["rows"]) == 12
    for row in answer["rows"]:
        assert set(CONTRACT) <= row.keys()
        assert row["signal"] in {"high", "low", "none"}
        assert row["low"] <= row["ratio"] <= row["high"]
        assert row["ratio"] == pytest.approx(row["observed"] / row["expected"])
    assert answer["method"]["crew_years_a_false_alarm"] == 40


def test_expected_adds_up_to_about_what_was_seen(found: Crews) -> None:
    seen, expected = found.rows["observed"].to_numpy().sum(), found.rows["expected"].to_numpy().sum()
    assert expected == pytest.approx(seen, rel=0.05)


def test_only_the_first_months_count(demo_store: Path, rows: dict[str, dict[str, Any]]) -> None:
    records = Records.of(demo_store)
    shorter = {row["crew_id"]: row for row in crews(records, months=12).rows.to_dicts()}
    assert all(shorter[crew]["observed"] <= row["observed"] for crew, row in rows.items())
    assert all(shorter[crew]["expected"] < row["expected"] for crew, row in rows.items() if crew != "C12")
    frame = records.ask("follow_up")
    first_year = frame.filter((pl.col("crew_id") == "C05") & pl.col("leaked_back") & (pl.col("watched_days") <= 365))
    assert shorter["C05"]["observed"] == first_year.height


def test_within_cuts_watching_at_the_horizon() -> None:
    frame = pl.DataFrame({"leaked_back": [True, True, False], "watched_days": [100.0, 366.0, 800.0]})
    cut = within(frame, 12)
    assert cut["leaked_back"].to_list() == [True, False, False]
    assert cut["watched_days"].to_list() == [100.0, 365.0, 365.0]


@pytest.mark.parametrize("months", [0, -3, 5000])
def test_months_that_make_no_sense_are_refused(demo_store: Path, months: int) -> None:
    with pytest.raises(LeakbackError, match="months are"):
        crews(Records.of(demo_store), months=months)


def test_order_of_rows_and_names_of_crews_change_nothing(cracks: pl.DataFrame) -> None:
    names = {crew: f"T{place * 5 % 12:02}" for place, crew in enumerate(sorted(cracks["crew_id"].unique()))}
    turned = cracks.sample(fraction=1, shuffle=True, seed=8).with_columns(pl.col("crew_id").replace_strict(names))
    one, other = judge(cracks, AS_OF, PENALTIES).rows, judge(turned, AS_OF, PENALTIES).rows
    one = one.with_columns(pl.col("crew_id").replace_strict(names))
    assert_frame_equal(one.drop("note"), other.drop("note"), check_row_order=False, rel_tol=1e-5)


def test_cracks_without_a_crew_are_counted_and_left_out(cracks: pl.DataFrame) -> None:
    blank = cracks.with_columns(crew_id=pl.when(pl.col("crew_id") == "C07").then(None).otherwise("crew_id"))
    found = judge(blank, AS_OF, PENALTIES)
    assert found.without_crew == cracks.filter(pl.col("crew_id") == "C07").height
    assert found.rows.height == 11
    assert found.judged is not None


def test_a_short_history_counts_and_says_what_it_would_take(records_of: Callable[..., Records]) -> None:
    leak = {"callback_id": "B-1", "job_id": "J-1", "crack_id": "K-1", "reported_on": "2024-06-01"}
    tables = {"jobs": [DONE_JOB], "cracks": [CRACK], "callbacks": [leak | {"finding": "leak_back"}]}
    found = crews(records_of(tables))
    row = found.rows.row(0, named=True)
    assert tuple(found.rows.columns) == tuple(ROW)
    assert (row["cracks"], row["observed"], row["expected"], row["signal"]) == (1, 1, None, "none")
    assert found.judged is None
    assert "49 more" in found.said
    assert crew_sentences.opening(found.rows, found.said).startswith("Too little to judge any crew")
    json.dumps(found.answer(), default=str, allow_nan=False)


def test_nothing_loaded_is_no_crew(records_of: Callable[..., Records]) -> None:
    quote = {"job_id": "J-1", "status": "quoted", "quoted_on": "2024-01-02"}
    found = crews(records_of({"jobs": [quote]}))
    assert found.rows.is_empty()
    assert crew_sentences.opening(found.rows, found.said) == "No finished repair of any crew yet."


def test_two_crews_that_stand_out_are_both_named() -> None:
    blank = dict.fromkeys(ROW)
    row = {"expected": 30.0, "ratio": 2.0, "low": 1.5, "high": 2.6, "observed": 60, "cracks": 400}
    frame = pl.DataFrame(
        [
            blank | row | {"crew_id": "A", "signal": "high"},
            blank | row | {"crew_id": "B", "signal": "high"},
            blank | row | {"crew_id": "C", "signal": "low"},
            blank | row | {"crew_id": "D", "signal": "none", "more_cracks_needed": 30},
        ],
        schema=ROW,
    )
    said = crew_sentences.opening(frame, "")
    assert said.startswith(
        "Two crews of three have more leak-backs than their cracks explain: A, 60 against 30 expected"
    )
    assert "One crew of three, C, has fewer leak-backs" in said
    assert said.endswith("D has too few cracks watched long enough to judge.")


def test_what_practice_leaves_is_not_said_to_be_in_nothing_written_down() -> None:
    """Litres, minutes and the choice of resin are written down too, and are not taken into account."""
    row = {"crew_id": "A", "ratio": 3.0, "after_practice": 2.5, "after_practice_low": 2.0, "after_practice_high": 3.2}
    said = crew_sentences.before_and_after(row)
    assert said.endswith("(2.0 to 3.2). Neither its cracks nor these practices explain what is left.")


@pytest.mark.parametrize(
    ("years", "said"), [(64, "about 1.6 false alarms in that time."), (40, "about 1.0 false alarm in ")]
)
def test_how_many_alarms_chance_alone_makes_is_said_as_a_number_to_expect(years: int, said: str) -> None:
    told = crew_sentences.false_alarms(pl.DataFrame({"month": range(12 * years)}))
    assert told.startswith(
        "By chance alone a run passes its limit once in 40 crew-years (5 % in two years of one crew)."
    )
    assert f"These crews have {years} crew-years behind them, so expect {said}" in told


def test_a_run_is_said_by_its_months() -> None:
    may, june = date(2024, 5, 1), date(2025, 6, 1)
    assert crew_sentences.ran_past("A", []) == "A's run has never passed its limit."
    assert crew_sentences.ran_past("A", [may]) == "A's run passed its limit in May 2024."
    assert "twice, first in May 2024, last in June 2025" in crew_sentences.ran_past("A", [may, june])


def test_what_is_left_after_practice_is_less_sure_than_what_was_seen(found: Crews) -> None:
    wide = (pl.col("after_practice_high") / pl.col("after_practice_low")).log()
    seen = (pl.col("high") / pl.col("low")).log()
    judged = found.rows.filter(pl.col("after_practice").is_not_null() & (pl.col("low") > 0))
    assert judged.height
    assert judged.select((wide > seen).all()).item()
    inside = pl.col("after_practice").is_between("after_practice_low", "after_practice_high")
    assert judged.select(inside.all()).item()


def test_where_every_crew_is_too_small_chance_is_not_said_to_explain_anything(found: Crews) -> None:
    thin = found.rows.with_columns(more_cracks_needed=pl.lit(5, pl.Int64), signal=pl.lit("none"))
    assert crew_sentences.opening(thin, "") == "No crew can be judged yet: each has too few cracks."


def test_a_crew_with_most_of_the_leak_backs_of_a_small_business_is_found(cracks: pl.DataFrame) -> None:
    """The others' 20 are few, and how unsure they make what is expected of it is in the interval."""
    by_others = pl.col("leaked_back") & (pl.col("crew_id") != "C05")
    small = cracks.with_columns(leaked_back=pl.col("leaked_back") & (~by_others | (by_others.cum_sum() <= 20)))
    rows = judge(small, AS_OF, PENALTIES, 60).rows
    assert small["leaked_back"].sum() - 20 > 20
    assert rows.filter(pl.col("signal") == "high")["crew_id"].to_list() == ["C05"]
    assert rows.filter(pl.col("signal") == "low").is_empty()
    [bad] = rows.filter(crew_id="C05").to_dicts()
    assert bad["high"] / bad["low"] > 2


def test_a_crew_with_nearly_all_leak_backs_is_counted_and_makes_no_other_one_low(cracks: pl.DataFrame) -> None:
    is_own = pl.col("crew_id") == "C05"
    by_others = pl.col("leaked_back") & ~is_own
    leaked = (by_others & (by_others.cum_sum() <= 8)) | (is_own & (is_own.cum_sum() <= 80))
    small = cracks.with_columns(leaked_back=leaked)
    own = small.filter(crew_id="C05")
    judged = judge(small, AS_OF, PENALTIES, 60)
    rows = {row["crew_id"]: row for row in judged.rows.to_dicts()}
    assert judged.rows.height == cracks["crew_id"].n_unique()
    assert (rows["C05"]["cracks"], rows["C05"]["signal"], rows["C05"]["ratio"]) == (own.height, "none", None)
    assert rows["C05"]["observed"] == within(own, 60)["leaked_back"].sum()
    assert rows["C05"]["note"].endswith("too few to say what to expect of a crew: 10 are needed, 2 more")
    assert rows["C07"]["expected"] > 0
    assert {row["signal"] for row in rows.values()} == {"none"}
    assert any(row["low_beside_high"] for row in rows.values())  # beside what it raises they would be low
    assert judged.without_crew == 0
    said = crew_sentences.opening(judged.rows, judged.said)
    assert said.endswith("Nothing to hold C05 against: the other crews have too few leak-backs.")
    assert judged.judged is not None
    assert "C05" not in judged.judged.runs["crew_id"]
    json.dumps(judged.answer(), default=str, allow_nan=False)

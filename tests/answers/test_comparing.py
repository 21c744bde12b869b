"""Materials and seasons compared fairly, from the records."""

import json
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from analytics import metrics
from analytics.answers.comparing import Comparison, compare, plain_rates
from analytics.answers.records import Records
from analytics.contract.dimensions import dimensions
from analytics.demo import simulate
from analytics.errors import LeakbackError, UnknownNameError
from analytics.pages import leak_backs
from analytics.pages.page import Chart
from tests.histories import CRACK, DONE_JOB, Tables
from tests.truth.stores import records_of


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def resins(records: Records) -> Comparison:
    return compare(records, "resin")


@pytest.mark.parametrize("name", ["resin", "season"])
@pytest.mark.parametrize("months", [12, 24])
def test_the_plain_rates_are_those_of_measure(records: Records, name: str, months: int) -> None:
    rates = metrics.measure(records.ask, metrics.metric("leak_back_rate"), dimensions([name]), months=months).rows
    rows = compare(records, name, months=months).rows
    assert rows["choice"].to_list() == rates[name].to_list()
    for mine, theirs in {"crude": "value", "crude_low": "low", "crude_high": "high"}.items():
        assert rows[mine].to_numpy() == pytest.approx(rates[theirs].to_numpy(), abs=2e-9)  # the store rounds
    assert rows.select("cracks", "leak_backs", "watched").rows() == rates.select("cracks", "events", "watched").rows()


@pytest.mark.parametrize("name", ["resin", "season"])
def test_the_plain_curves_are_those_of_any_other_grouping(records: Records, name: str) -> None:
    ages = (3, 12, 24, 36)
    theirs = metrics.curves(records.ask, dimensions([name]), ages_months=ages)
    mine = plain_rates(records, name, ages)
    same = [name, "age_months", "cracks", "events", "watched"]
    assert mine.select(same).rows() == theirs.select(same).rows()
    for column in ("value", "low", "high"):
        assert mine[column].to_numpy() == pytest.approx(theirs[column].to_numpy(), abs=2e-9)


def test_the_fair_rates_turn_the_plain_ones_around(resins: Comparison) -> None:
    epoxy, foam = resins.rows.to_dicts()
    assert foam["crude"] > epoxy["crude"]
    assert foam["value"] < epoxy["value"]
    assert resins.cracks == resins.rows["cracks"].sum()


def test_the_sentence_has_its_numbers_intervals_and_count(resins: Comparison) -> None:
    said = resins.sentence()
    assert said.startswith(f"Of {resins.cracks:,} cracks, all else as it was, ".replace(",", "\u202f", 1))
    assert "with epoxy and" in said
    assert said.endswith("as many with urethane foam, beyond chance.")


def test_it_says_why_the_two_differ(resins: Comparison) -> None:
    assert resins.why().startswith("Urethane foam goes to the wet cracks: ")
    assert resins.why().endswith("; in the plain rates it looks as if the resin did that.")
    assert resins.mix.filter(choice="urethane_foam")["hazard"].item() > 1.3


def test_seasons_that_do_nothing_do_not_stand_apart(records: Records) -> None:
    found = compare(records, "season")
    assert found.sentence().endswith("; beyond chance none differs from the others.")
    assert found.why().startswith("Spring finds the wet cracks: ")


def test_the_answer_is_plain_data(resins: Comparison) -> None:
    answer = json.loads(json.dumps(resins.answer(), default=str, allow_nan=False))
    assert [row["resin"] for row in answer["rows"]] == ["epoxy", "urethane_foam"]
    assert answer["caution"] == "an association in your own jobs, not a trial"
    assert answer["log_rank"]["p_value"] < 0.05
    assert answer["left_out"] == []


@pytest.mark.parametrize(
    ("name", "changes", "says"),
    [
        ("crew", {}, "unknown comparison 'crew'"),
        ("resin", {"months": 0}, "months are 0"),
        ("resin", {"level": 1.0}, "level is 1"),
    ],
)
def test_what_cannot_be_asked_is_one_clear_line(
    records: Records, name: str, changes: dict[str, float], says: str
) -> None:
    with pytest.raises((LeakbackError, UnknownNameError), match=says):
        compare(records, name, **changes)  # type: ignore[arg-type]


def test_forty_jobs_have_plain_rates_only_and_it_is_said_what_more_would_do(tmp_path: Path) -> None:
    found = compare(records_of(simulate(seed=2, n_jobs=40), tmp_path), "resin")
    assert found.rows["value"].null_count() == found.rows.height
    assert "needs 50" in found.sentence()
    assert found.sentence().startswith("The plain rates alone can be told: ")
    assert found.why() == ""


@pytest.mark.parametrize("name", ["resin", "season"])
def test_where_nothing_is_compared_nothing_is_left_out(tmp_path: Path, name: str) -> None:
    records = records_of(simulate(seed=2, n_jobs=150), tmp_path)
    found = compare(records, name)
    assert found.said
    assert 0 < found.strata["kept"].sum() < found.strata.height
    assert found.left_out == ()
    assert found.cracks == found.rows["cracks"].sum() == found.strata["cracks"].sum()
    rates = metrics.measure(records.ask, metrics.metric("leak_back_rate"), dimensions([name]), months=24).rows
    assert found.rows["crude"].to_numpy() == pytest.approx(rates["value"].to_numpy(), abs=2e-9)


def test_where_no_kind_of_crack_got_each_often_enough_there_are_plain_rates_and_it_is_said(tmp_path: Path) -> None:
    tables = simulate(seed=2, n_jobs=1500)
    wet = pl.col("water").is_in(["seeping", "running"])
    by_water = pl.when(wet).then(pl.lit("urethane_foam")).otherwise(pl.lit("epoxy"))
    records = records_of(tables | {"cracks": tables["cracks"].with_columns(resin=by_water)}, tmp_path)
    found = compare(records, "resin")
    assert found.sentence().startswith("The plain rates alone can be told: no kind of crack got each often enough")
    assert found.why() == ""
    rates = metrics.measure(records.ask, metrics.metric("leak_back_rate"), dimensions(["resin"]), months=24).rows
    assert found.rows["crude"].to_numpy() == pytest.approx(rates["value"].to_numpy(), abs=2e-9)
    assert found.cracks == found.rows["cracks"].sum() == rates["cracks"].sum()
    page = leak_backs.build(records, {})
    assert page.answer.startswith(f"Of {records.ask('follow_up').height:,}".replace(",", "\u202f"))
    assert any(isinstance(part, Chart) for part in page.parts)


def test_one_way_of_working_is_nothing_to_compare(records_of: Callable[[Tables], Records]) -> None:
    found = compare(records_of({"jobs": [DONE_JOB], "cracks": [CRACK | {"resin": "epoxy"}]}), "resin")
    assert "nothing to compare" in found.said


def test_an_empty_store_has_nothing_to_compare(records_of: Callable[[Tables], Records]) -> None:
    planned = {"job_id": "J-1", "status": "planned", "planned_on": "2026-11-20", "quoted_on": "2026-10-20"}
    found = compare(records_of({"jobs": [planned], "cracks": [CRACK]}), "season")
    assert found.rows.is_empty()
    assert isinstance(found.strata, pl.DataFrame)
    assert found.sentence() == "There is nothing to compare: no finished crack has its season written down."


def test_a_choice_too_rare_to_have_an_effect_is_not_compared(tmp_path: Path) -> None:
    tables = simulate(seed=5, n_jobs=1500)
    foam, dry = pl.lit("urethane_foam"), pl.lit("dry")
    rare = pl.int_range(pl.len()) < 25
    cracks = tables["cracks"].with_columns(
        resin=pl.when(rare).then(pl.lit("epoxy")).otherwise(foam), water=pl.when(rare).then(dry).otherwise("water")
    )
    found = compare(records_of(tables | {"cracks": cracks}, tmp_path), "resin")
    assert "cracks with epoxy; 30 are needed" in found.said
    assert found.rows["value"].null_count() == found.rows.height
    assert found.rows["cracks"].min() == found.rows.filter(choice="epoxy")["cracks"].item() > 0

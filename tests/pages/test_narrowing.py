"""What a click narrows: the leak-backs to one group, the coming jobs to one week and crew; and the way back."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from analytics import metrics
from analytics.answers.flagging import flags
from analytics.answers.records import Records
from analytics.contract.dimensions import dimension
from analytics.pages import leak_backs, upcoming
from analytics.pages.page import Chart, Choice, Page, Section, Table
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def tables(page: Page) -> list[Table]:
    inner = [each for part in page.parts if isinstance(part, Section) for each in part.parts]
    return [part for part in (*page.parts, *inner) if isinstance(part, Table)]


def choices(page: Page) -> dict[str, Choice]:
    return {each.key: each for each in page.choices if isinstance(each, Choice)}


def test_leak_backs_of_one_season_are_those_of_its_cracks_alone(records: Records) -> None:
    page = leak_backs.build(records, {"season": "winter", "by": "season"})
    rate = metrics.measure(records.ask, leak_backs.RATE, only={dimension("season"): "winter"}).rows
    assert page.answer.startswith(f"Of {rate['cracks'].item()} repaired cracks (winter), ")
    assert choices(page)["season"].of({"season": "winter"}) == "winter"
    assert "season" not in choices(page)["by"].options
    assert [row["resin"] for row in tables(page)[0].rows.to_dicts()] == ["epoxy", "urethane foam"]


def test_a_value_that_nothing_has_narrows_nothing(records: Records) -> None:
    assert leak_backs.build(records, {"season": "monsoon"}).answer == leak_backs.build(records, {}).answer


@pytest.mark.parametrize("by", ["resin", "season", "crew"])
def test_what_is_clicked_and_what_is_linked_lead_to_the_same_place(records: Records, by: str) -> None:
    page = leak_backs.build(records, {"by": by})
    inner = [each for part in page.parts if isinstance(part, Section) for each in part.parts]
    [chart] = [part for part in (*page.parts, *inner) if isinstance(part, Chart) and part.picks]
    first = tables(page)[0].columns[0]
    assert chart.picks == (by,) == (first.key,)
    assert first.link.startswith("leak-backs?")
    [plot] = chart.plots
    values = {row[by] for rows in plot.to_dict()["datasets"].values() for row in rows if by in row}
    assert {str(value).replace("_", " ") for value in values} == {
        str(value).replace("_", " ") for value in tables(page)[0].rows[by]
    }


def test_a_week_and_a_crew_hold_their_own_cracks(records: Records) -> None:
    planned = flags(records).planned
    first = planned.drop_nulls("planned_on").sort("planned_on").row(0, named=True)
    monday = pl.Series([first["planned_on"]]).dt.truncate("1w").item()
    said = {"needs": "every", "order": "week", "week": str(monday), "crew": first["crew_id"]}
    shown = tables(upcoming.build(records, said))[0].rows
    own = planned.filter((pl.col("planned_on").dt.truncate("1w") == monday) & (pl.col("crew_id") == first["crew_id"]))
    assert sorted(shown["crack_id"]) == sorted(own["crack_id"])


def test_by_week_every_crack_stands_once_crew_by_crew(records: Records) -> None:
    *weeks, ahead = tables(upcoming.build(records, {"needs": "every", "order": "week"}))
    rows = pl.concat([week.rows for week in weeks])
    assert sorted(rows["crack_id"]) == sorted(flags(records).planned["crack_id"])
    assert all(week.rows["crew_id"].is_sorted() for week in weeks)
    assert ahead.rows["cracks"].sum() == rows.drop_nulls("planned_on").height


def test_where_no_rate_is_known_nothing_is_drawn(records_of: Callable[..., Records]) -> None:
    jobs = [DONE_JOB | {"job_id": f"J-{place}"} for place in range(3)]
    cracks = [CRACK | {"crack_id": f"K-{place}", "job_id": f"J-{place}", "resin": "epoxy"} for place in range(3)]
    for by in ("resin", "width_band"):
        page = leak_backs.build(records_of({"jobs": jobs, "cracks": cracks}), {"by": by})
        assert page.answer.startswith("Too little to say yet how many repairs leak back")
        assert not [part for part in every_part(page.parts) if isinstance(part, Chart)]

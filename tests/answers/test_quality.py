"""What is missing is counted against a naive count, and what it costs is said in words."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from analytics.answers.quality import quality
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.store.composing import selects
from tests.histories import Tables

Opener = Callable[..., Records]
Odd = dict[int, dict[str, Any]]
NOT_ASKED = {
    "jobs": {"job_id", "status", "crew_id", "done_on", "warranty_months"},
    "cracks": {"crack_id", "job_id"},
    "callbacks": {"callback_id", "job_id", "reported_on"},
}


def history(jobs: int = 40, odd: Odd | None = None) -> Tables:
    """One job every ten days from 2022, a crack each; ``odd`` maps a job's place to cells of its crack."""
    days = [date(2022, 1, 5) + timedelta(10 * n) for n in range(jobs)]
    return {
        "jobs": [
            {"job_id": f"J-{n}", "crew_id": "C1", "status": "done", "done_on": day, "quoted_on": day, "branch": "North"}
            for n, day in enumerate(days)
        ],
        "cracks": [
            {
                "crack_id": f"K-{n}",
                "job_id": f"J-{n}",
                "length_m": 2,
                "width_mm": 0.5,
                "wall_thickness_mm": 200,
                "resin_litres": 0.4,
                "labour_minutes": 100,
                **(odd or {}).get(n, {}),
            }
            for n in range(jobs)
        ],
    }


def test_every_column_that_may_be_blank_is_counted() -> None:
    """The SELECT names columns by hand: none of the contract's may be forgotten."""
    for table, left_out in NOT_ASKED.items():
        for column in TABLES[table].column_names():
            asked = f"'{table}' as table_name, '{column}'" in selects()["filled_cells"]
            asked = asked or f"'{table}', '{column}'" in selects()["filled_cells"]
            assert asked == (column not in left_out), (table, column)


def test_completeness_is_what_a_naive_count_gives(records_of: Opener) -> None:
    odd: Odd = {n: {"resin_litres": None} for n in (0, 1, 2, 39)}
    found = quality(records_of(history(odd=odd)))
    answer: Any = found.answer()
    rows = {(r["table"], r["column"], r["year"]): r for r in answer["rows"]}
    assert (rows["cracks", "resin_litres", 2022]["rows"], rows["cracks", "resin_litres", 2022]["filled"]) == (37, 34)
    assert rows["cracks", "resin_litres", 2023]["share"] == pytest.approx(2 / 3)
    assert rows["cracks", "water", 2022]["filled"] == 0
    assert rows["jobs", "branch", 2023]["share"] == 1.0


def test_what_a_gap_costs_is_said_with_its_count(records_of: Opener) -> None:
    odd: Odd = {n: {"resin_litres": None} for n in range(4)}
    grounds = {each.estimate: each for each in quality(records_of(history(odd=odd))).grounds}
    assert grounds["material_per_metre"].says == (
        "4 cracks without litres or length: resin per metre rests on 90\u202f% of the work"
    )
    assert grounds["labour_per_crack"].says == "labour per crack: nothing is missing"
    assert "findings" not in grounds


def test_all_but_one_is_never_said_to_be_all(records_of: Opener) -> None:
    grounds = quality(records_of(history(300, {7: {"labour_minutes": None}}))).grounds
    [labour] = [each for each in grounds if each.estimate == "labour_per_crack"]
    assert "rests on 99\u202f% of the work" in labour.says


def test_gallons_written_for_litres_are_found_and_said(records_of: Opener) -> None:
    odd: Odd = {n: {"resin_litres": 0.4 / 3.785} for n in range(37, 73)}
    found = quality(records_of(history(73, odd)))
    answer: Any = found.answer()
    [jump] = answer["jumps"]
    assert jump["column"] == "resin_litres"
    assert jump["says"].startswith(
        "resin used: the middle job went from 0.40\u202fL in 2022 to 0.11\u202fL in 2023, 0.26"
    )


def test_months_without_work_are_a_gap_that_says_what_was_usual(records_of: Opener) -> None:
    tables = history(200)
    lost = [
        job["job_id"]
        for job in tables["jobs"]
        if str(job["done_on"])[:7] in {"2023-02", "2023-03", "2023-04", "2023-05"}
    ]
    kept = {name: [row for row in rows if row["job_id"] not in lost] for name, rows in tables.items()}
    answer: Any = quality(records_of(kept)).answer()
    gaps = answer["gaps"]
    assert [gap["kind"] for gap in gaps] == ["quoted", "done"]
    assert "no work finished from February 2023 to May 2023 (12 are usual)" in gaps[1]["says"]


def test_codes_in_two_spellings_are_told_and_codes_that_only_look_alike_are_not(records_of: Opener) -> None:
    tables = history(6)
    spelled = ["C01", "c01", "C 01", "C-01", "C011", "C10"]
    branches = ["North", "north ", "NORTH", "South", "Nor", "Northern"]
    jobs = [dict(job, crew_id=c, branch=b) for job, c, b in zip(tables["jobs"], spelled, branches, strict=True)]
    jobs.append(dict(jobs[0], job_id="j-0"))
    jobs += [dict(jobs[0], job_id="J-1-12"), dict(jobs[0], job_id="J-11-2")]
    twins = {row["column_name"]: row for row in quality(records_of({"jobs": jobs})).twins.to_dicts()}
    assert twins["job_id"]["spellings"] == "J-0, j-0"
    assert twins["branch"]["spellings"] == "NORTH, North, north"
    assert "C01" in twins["crew_id"]["spellings"]
    assert set(twins) == {"job_id", "branch", "crew_id"}


def test_an_empty_store_has_nothing_to_say(records_of: Opener) -> None:
    found = quality(
        records_of({"rates": [{"effective_on": "2024-01-01", "item": "labour_hour", "amount": 1, "currency": "USD"}]})
    )
    assert (found.grounds, found.gaps, found.jumps, found.tried) == ((), (), (), 0)


def test_the_demo_says_which_figure_rests_on_least(demo_store: Path) -> None:
    found = quality(Records.of(demo_store))
    assert found.grounds[0].estimate == "by_movement"
    assert found.jumps == ()
    assert found.gaps == ()
    assert found.twins.is_empty()
    assert all(each.share is not None and 0 < each.share <= 1 for each in found.grounds)


@pytest.mark.parametrize("select", ["filled_cells", "estimate_grounds"])
def test_nothing_is_counted_twice(demo_store: Path, select: str) -> None:
    asked = Records.of(demo_store).ask(select)
    counted = asked.columns[1] if select == "estimate_grounds" else "row_count"
    assert (asked[counted] >= asked[asked.columns[-1]]).all()

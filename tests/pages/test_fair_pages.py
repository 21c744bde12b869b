"""The leak-backs page, the model card and a job's reasons, as data and in the terminal."""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest
from rich.console import Console

from analytics.answers import comparing
from analytics.answers.explaining import Explanation, explain
from analytics.answers.flagging import flags
from analytics.answers.records import Records
from analytics.demo import simulate
from analytics.pages import comparing as comparing_page
from analytics.pages import explained, leak_backs, reserve, trust
from analytics.pages.page import Caution, Chart, Figures, Folded, Page, Reasons, Section, Table, Words
from analytics.pages.within import every_part
from analytics.render.terminal import show
from tests.histories import CRACK, DONE_JOB
from tests.truth.stores import records_of as simulated

LATER_QUOTE = {"job_id": "Q-1", "status": "quoted", "quoted_on": "2026-10-01"}


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def few(tmp_path_factory: pytest.TempPathFactory) -> Records:
    """A business of forty jobs."""
    return simulated(simulate(seed=2, n_jobs=40), tmp_path_factory.mktemp("few"))


def shown(page: Page) -> str:
    out = io.StringIO()
    show(page, Console(file=out, width=160))
    return " ".join(out.getvalue().split())


@pytest.mark.parametrize("by", ["resin", "season"])
def test_leak_backs_open_with_the_fair_comparison_then_the_plain_curves(records: Records, by: str) -> None:
    page = leak_backs.build(records, {"by": by})
    assert page.answer == comparing.compare(records, by).sentence()
    kinds = [type(part) for part in page.parts]
    assert kinds[:3] == [Chart, Words, Table]
    assert any(isinstance(part, Caution) and part.text.endswith("not a trial.") for part in page.parts)
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert "By age of the repair: plain rates of the kinds compared" in titles


def test_fair_and_plain_stand_side_by_side(records: Records) -> None:
    page = leak_backs.build(records, {})
    table = next(part for part in page.parts if isinstance(part, Table))
    assert [column.label for column in table.columns] == [
        "resin",
        "on the same cracks",
        "plain rate",
        "its own cracks",
        "leak-backs",
    ]
    assert table.rows["resin"].to_list() == ["epoxy", "urethane foam"]


def test_what_a_hidden_cause_would_need_is_said_with_its_unit(records: Records) -> None:
    page = leak_backs.build(records, {})
    rows = {row.label: row for part in every_part(page.parts) if isinstance(part, Figures) for row in part.rows}
    needed = rows["urethane foam: a hidden cause would need"]
    assert needed.note.endswith(" to explain all of it; by 1.6\u202f× to leave it to chance")
    assert "plain curves so far apart by chance" in rows


def test_other_groupings_have_plain_rates_as_before(records: Records) -> None:
    assert leak_backs.build(records, {"by": "crew"}).answer.startswith("Of 5\u202f995 repaired cracks, ")


def test_forty_jobs_have_plain_rates_only(few: Records) -> None:
    assert "on the same cracks" not in leak_backs.build(few, {}).answer
    page = comparing_page.build(comparing.compare(few, "resin"))
    assert page.answer.startswith("The plain rates alone can be told: ")
    assert not [part for part in page.parts if isinstance(part, Caution)]
    assert "plain rate" in shown(page)


def test_forty_jobs_have_no_model_card_and_it_says_what_it_would_take(few: Records) -> None:
    page = trust.build(few, {})
    assert page.answer.startswith("No risk model yet")
    assert "needs 50" in page.wanting


def test_the_model_card_has_the_curve_the_scores_the_latest_year_and_the_effects(records: Records) -> None:
    page = trust.build(records, {})
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert titles[0].startswith("How it did on jobs done since ")
    assert titles[1:] == [
        "Whether the latest year is like the years before it",
        "What each fact does, all else alike",
        "What it was fitted on, and its limits",
    ]
    assert sum(isinstance(part, Chart) for part in every_part(page.parts)) == 1
    labels = {row.label for part in every_part(page.parts) if isinstance(part, Figures) for row in part.rows}
    assert {"leak-backs seen over foreseen", "spread of the risks", "share of pairs ranked rightly"} <= labels
    assert "leak-backs seen over foreseen, latest year" in labels
    said = shown(page)
    assert "Better than one rate for all." in said
    assert "A second model " in said


def test_a_crack_s_reasons_and_what_would_change_it(records: Records) -> None:
    found = flags(records)
    crack = found.planned.filter(resin="epoxy", water="seeping").row(0, named=True)
    [folded] = explained.parts(explain(found, crack["job_id"]), crack["crack_id"], found.months)
    assert isinstance(folded, Folded)
    assert folded.on_a_phone
    assert crack["crack_id"] in folded.title
    given = folded.parts
    reasons = [part for part in given if isinstance(part, Reasons)]
    assert reasons[0].title.startswith("What raises its risk, against ")
    assert reasons[0].title.endswith(" for a crack average in everything")
    assert all(line.effect.startswith("×") for part in reasons for line in part.rows)
    table = next(part for part in given if isinstance(part, Table))
    assert "with urethane foam" in table.rows["words"].to_list()
    assert table.note == "Intervals at 95\u202f%."
    assert given[-1] == Caution("Each is an association in your own jobs, not a trial.")


def test_a_crack_that_cannot_be_taken_apart_says_so_quietly() -> None:
    assert explained.parts(Explanation({}, "No model."), "K-1", 24) == (Words("No model.", tone="muted"),)


EXACT = {
    trust: ("Brier", "concordance", "log score", "hazard ratio", "boosted trees", "stability index", "standard error"),
    reserve: ("chain ladder", "standard error", "hazard"),
    leak_backs: ("E-value", "p-value", "log-rank", "pooled", "Mantel"),
}
"""By page the statistician's words, each for how it is worked out alone."""


@pytest.mark.parametrize("page", EXACT)
def test_the_statisticians_words_stand_only_where_it_is_worked_out(page: ModuleType, records: Records) -> None:
    built = page.build(records, {"by": "resin"})
    tables = [part for part in every_part(built.parts) if isinstance(part, Table)]
    helps = " ".join(f"{table.title} {column.help}" for table in tables for column in table.columns)
    said = f"{shown(replace(built, worked_out=''))} {helps}".lower()
    assert [term for term in EXACT[page] if term.lower() in said] == []
    assert [term for term in EXACT[page] if term.lower() not in built.worked_out.lower()] == []


def test_the_answer_says_which_groups_its_least_and_most_leave_out(records_of: Callable[..., Records]) -> None:
    jobs, cracks, calls = [], [], []
    for water, count in {"dry": 12, "damp": 12, "running": 9}.items():
        for number in range(count):
            key = f"{water[:2].upper()}{number}"
            jobs.append({**DONE_JOB, "job_id": key})
            cracks.append({**CRACK, "crack_id": f"{key}-1", "job_id": key, "water": water})
            call = {"callback_id": f"B-{key}", "job_id": key, "reported_on": "2024-03-01", "finding": "leak_back"}
            calls += [call] if water == "running" else []
    found = records_of({"jobs": [*jobs, LATER_QUOTE], "cracks": cracks, "callbacks": calls})
    said = leak_backs.build(found, {"by": "water"}).answer
    assert " for damp" in said
    assert " for dry" in said
    assert said.endswith("; too little to say for running."), said

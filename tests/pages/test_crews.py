"""The crews' page and a crew's own sheet, as data."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from analytics.answers.crews import crews as judge
from analytics.answers.records import Records
from analytics.pages import crew, crew_work, crews
from analytics.pages.page import Chart, Document, Downloads, Figures, Page, Reasons, Section, Table, Words
from analytics.pages.within import every_part
from analytics.render import paper
from tests.histories import CRACK, DONE_JOB


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def page(records: Records) -> Page:
    return crews.build(records, {})


def test_the_sentence_the_picture_the_table(page: Page) -> None:
    assert page.answer.startswith("One crew of ten, C05, has more leak-backs than its cracks explain: ")
    kinds = [type(part) for part in page.parts]
    assert kinds[:2] == [Chart, Table]
    assert next(part for part in page.parts if isinstance(part, Chart)).alt == page.answer
    assert page.worked_out


def test_every_crew_opens_its_sheet(page: Page) -> None:
    table = next(part for part in page.parts if isinstance(part, Table))
    assert table.rows.height == 12
    assert table.columns[0].link == crews.PATH
    assert [column.label for column in table.columns if column.unit == "×" and not (column.low and column.high)] == []
    verdicts = dict(table.rows.select("crew_id", "verdict").iter_rows())
    assert verdicts["C05"] == "more"
    assert verdicts["C08"] == "chance"
    assert verdicts["C12"] == "too few"


def test_the_level_of_the_ratios_stands_once_beneath_them(records: Records, page: Page) -> None:
    assert next(part for part in page.parts if isinstance(part, Table)).note == "Intervals at 95\u202f%."
    assert crews.table(replace(judge(records), judged=None)).note == ""


def test_that_no_crew_has_finished_anything_is_said_once(records_of: Callable[..., Records]) -> None:
    page = crews.build(records_of({"jobs": [DONE_JOB | {"status": "quoted", "done_on": None}]}), {})
    assert page.answer == "No finished repair of any crew yet."
    assert page.parts == ()
    assert page.wanting == "Load finished jobs with their crews."


def test_every_ratio_is_shown_without_the_bad_crew_too(records: Records, page: Page) -> None:
    found = judge(records)
    table = next(part for part in page.parts if isinstance(part, Table))
    assert "without C05" in [column.label for column in table.columns]
    assert "without C05 among the others 1.3" in crews.build(records, {"crew_id": "C03"}).answer
    alone = crews.table(replace(found, rows=found.rows.filter(crew_id="C05")))
    assert not [column for column in alone.columns if column.label.startswith("without")]


def test_practices_are_said_for_the_crew_that_stands_out_only(page: Page) -> None:
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert [title for title in titles if title.startswith("What carries")] == ["What carries the difference of C05"]
    said = [line.text for part in every_part(page.parts) if isinstance(part, Reasons) for line in part.rows]
    assert len(said) == 4
    assert all(text.startswith("C05 ") for text in said)


def test_only_runs_that_rose_are_drawn_and_the_rest_is_said(page: Page) -> None:
    charts = [part for part in every_part(page.parts) if isinstance(part, Chart)]
    assert 1 <= len(charts[-1].plots) < 12
    assert "never came half-way to the limit" in charts[-1].note


def test_the_terminal_gets_the_same_without_pictures(records: Records, page: Page) -> None:
    plain = crews.judged(judge(records))
    assert plain.answer == page.answer
    assert not [part for part in every_part(plain.parts) if isinstance(part, Chart)]


def test_the_sheet_of_the_bad_crew(records: Records) -> None:
    sheet = crews.build(records, {"crew_id": "C05"})
    assert sheet.answer.startswith("Crew C05: 77 leak-backs against 26 expected (")
    assert "More than its cracks and chance explain." in sheet.answer
    talk = next(part for part in sheet.parts if isinstance(part, Reasons))
    assert talk.rows[0].do == "Set ports no further apart than the wall is thick."
    titles = [part.title for part in sheet.parts if isinstance(part, Section)]
    assert titles == [
        "How it works, beside the others",
        "The cracks it is given",
        "Over time",
        "Leak-backs, resin and labour, plain figures",
        "Its leak-backs",
    ]


def test_the_sheet_of_the_wet_walls_crew_shows_why_more_is_expected(records: Records) -> None:
    sheet = crews.build(records, {"crew_id": "C08"})
    given = next(part for part in sheet.parts if isinstance(part, Section) and part.title == "The cracks it is given")
    table = next(part for part in given.parts if isinstance(part, Table))
    first = table.rows.row(0, named=True)
    assert first["feature"] == "water running from the crack"
    assert first["part"] > 1.3


def test_the_sheet_of_the_small_crew_talks_about_nothing(records: Records) -> None:
    sheet = crews.build(records, {"crew_id": "C12"})
    assert "Too few to judge" in sheet.answer
    assert not [part for part in sheet.parts if isinstance(part, Reasons)]


def test_a_crew_that_is_not_there_is_said(records: Records) -> None:
    page = crews.build(records, {"crew_id": "C99"})
    assert page.parts[0] == Words("No crew C99.")


def test_too_little_is_words_and_plain_counts(records_of: Callable[..., Records]) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    page = crews.build(records, {})
    assert page.answer == "Too little to judge any crew yet."
    assert "50" in page.wanting
    sheet = crews.build(records, {"crew_id": "C01"})
    assert sheet.answer.startswith("Crew C01: 0 leak-backs of 1 crack")
    assert [part for part in every_part(sheet.parts) if isinstance(part, Figures)]


def test_plain_figures_say_first_that_they_judge_nobody(records_of: Callable[..., Records], records: Records) -> None:
    few = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    for said in ({}, {"crew_id": "C01"}):
        first, how = first_lines(crews.build(few, said))
        assert first.startswith(
            "Plain figures of whatever cracks each crew was given, so they judge no crew: 0 leak-backs"
        )
        assert first.endswith("50 more.")
        assert "not told where fewer than 10 of its cracks are still watched" in how
        assert "judge no crew" not in first_lines(crews.build(records, said))[0]


def first_lines(page: Page) -> list[str]:
    """The first two lines above plain figures."""
    [section] = [part for part in page.parts if isinstance(part, Section) and part.title == crew_work.TITLE]
    return [part.text for part in section.parts[:2] if isinstance(part, Words)]


def test_no_crew_yet(records_of: Callable[..., Records]) -> None:
    page = crews.build(records_of({"jobs": [{"job_id": "J-1", "status": "quoted", "quoted_on": "2024-01-02"}]}), {})
    assert page.answer == "No finished repair of any crew yet."
    assert page.wanting


def test_a_crews_sheet_lists_what_leaked_back_each_opening_its_job(records: Records) -> None:
    found = judge(records)
    [section] = crew_work.leaked(records, found, "C05")
    [table] = [part for part in section.parts if isinstance(part, Table)]
    every = records.ask("follow_up").filter((pl.col("crew_id") == "C05") & pl.col("leaked_back"))
    assert set(table.rows["crack_id"]) == set(every["crack_id"])
    assert table.listed.height == min(every.height, crew_work.MOST_LISTED)
    assert table.columns[0].link == "record"
    assert set(table.rows["cleaned"].drop_nulls()) <= {"yes", "no"}
    assert crew_work.leaked(records, found, "nobody") == ()


def test_leak_backs_later_than_the_judgement_counts_are_said(records: Records) -> None:
    every = records.ask("follow_up").filter((pl.col("crew_id") == "C05") & pl.col("leaked_back"))
    [section] = crew_work.leaked(records, judge(records), "C05")
    [said] = [part.text for part in section.parts if isinstance(part, Words)]
    assert said == f"However late, under warranty: {every.height}; 77 within 24 months."
    [section] = crew_work.leaked(records, judge(records, months=600), "C05")
    assert not [part for part in section.parts if isinstance(part, Words)]


def test_a_crews_sheet_is_printed_without_what_is_on_the_screen_alone(records: Records) -> None:
    offered = crews.build(records, {"crew_id": "C05", "months": "12"}).parts[0]
    assert isinstance(offered, Downloads)
    assert [(one.file_name, one.paper) for one in offered.rows] == [
        ("crew-C05.pdf", "a4"), ("crew-letter-C05.pdf", "letter"),
    ]  # fmt: skip
    sheet = offered.rows[0].document()
    assert isinstance(sheet, Document)
    [page] = sheet.pages
    assert "within 12 months" in page.answer
    assert page.parts[0] == Words(crew.FAIR, tone="muted")
    assert paper.made(sheet, "crew-C05.pdf", "a4").startswith(b"%PDF-")


def test_on_paper_all_of_a_crews_leak_backs_stand_or_where_they_are(
    records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = judge(records)

    def listed() -> Table:
        [page] = crew.on_paper(records, found, "C05").pages
        [table] = [part for part in every_part(page.parts) if isinstance(part, Table) and "leak-backs" in part.title]
        return table

    table = listed()
    assert table.listed.height == table.rows.height > crew_work.MOST_LISTED
    assert "Not shown" not in table.note
    monkeypatch.setattr(crew_work, "MOST_ON_PAPER", 20)
    assert listed().listed.height == 20
    assert listed().note.endswith("All are in: the CSV and XLSX of this list, on the crew's page of the dashboard.")

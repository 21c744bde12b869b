"""What each role sees of the pages: its own forms, and for the viewer no crew in any word, cell, chart or file."""

import json
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import altair as alt
import polars as pl
import pytest

from analytics.answers.records import Records
from analytics.charts.plot import layered
from analytics.contract.roles import ACTS, RIGHTS, ROLES, Act, Role
from analytics.pages.form import Field, Fieldset, Form
from analytics.pages.page import (
    Chart,
    Choice,
    Column,
    Download,
    Downloads,
    Folded,
    Page,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.questions import PAGES
from analytics.pages.seen_by import asked_by, seen_by
from analytics.pages.upload import Looked, Upload
from analytics.render import dashboard

CREWS = ("C03", "C12", "7", "crew-004711")
VIEWER, ESTIMATOR = RIGHTS["viewer"], RIGHTS["estimator"]


def told(value: Any) -> Iterator[str]:
    """Every text in a page, hidden columns, chart data and papers among them."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, pl.DataFrame):
        yield value.write_csv()
    elif isinstance(value, alt.LayerChart):
        yield json.dumps(value.to_dict(), default=str)
    elif isinstance(value, dict):
        yield from (text for pair in value.items() for each in pair for text in told(each))
    elif isinstance(value, tuple | list):
        yield from (text for each in value for text in told(each))
    elif is_dataclass(value):
        for each in fields(value):
            found = getattr(value, each.name)
            yield from told(found() if each.name == "document" else found)


def kinds(value: Any, kind: type) -> Iterator[Any]:
    """Every part of that kind in a page."""
    if isinstance(value, kind):
        yield value
    for each in value.parts if isinstance(value, Page | Section | Folded) else ():
        yield from kinds(each, kind)


def form(needs: Act | None) -> Form:
    return Form("a", "Do it", (Fieldset((Field("x", "x"),)),), lambda _: "done", needs=needs)


def only(*parts: Any, role: Role = "viewer") -> tuple[Any, ...]:
    return seen_by(RIGHTS[role], Page("Answer.", parts), CREWS).parts


@pytest.mark.parametrize("role", ROLES)
def test_a_role_sees_the_forms_of_its_own_acts_alone(role: Role) -> None:
    page = Page("A.", tuple(Folded(act, (form(act),)) for act in ACTS))
    assert {folded.title for folded in kinds(seen_by(RIGHTS[role], page, ()), Folded)} == RIGHTS[role].acts


@pytest.mark.parametrize("role", ROLES)
def test_a_form_that_says_no_right_is_for_who_may_do_everything(role: Role) -> None:
    upload = Upload("u", "Bring", (".csv",), "text", "Load", lambda *_: Looked(()), lambda *_: "")
    shown = seen_by(RIGHTS[role], Page("A.", (form(None), upload)), ()).parts
    assert bool(shown) == (role == "owner")


def test_a_section_left_empty_goes_with_its_heading() -> None:
    assert only(Section("Record about this job", (Folded("Close it", (form("close"),)),))) == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Job J-7, planned for Monday, crew C03: 2 cracks.", "Job J-7, planned for Monday: 2 cracks."),
        ("Crew 7 has 4 of the 7 jobs on this list", "A crew has 4 of the 7 jobs on this list"),
        ("Job J-7, planned for Monday, crew-004711: 2 cracks.", "Job J-7, planned for Monday: 2 cracks."),
        ("crew-004711: 2 leak-backs", "a crew: 2 leak-backs"),
        ("crew crew-004711 took more", "a crew took more"),
        ("C03 and C12, but not C031 or BC03 or J-C03", "a crew and a crew, but not C031 or BC03 or J-C03"),
        ("7 of 77 cracks, 7.5 mm", "7 of 77 cracks, 7.5 mm"),
    ],
)
def test_no_sentence_tells_a_crew(text: str, said: str) -> None:
    [words] = only(Words(text))
    assert words.text == said
    assert seen_by(ESTIMATOR, Page(text), CREWS).answer == text


def test_a_table_loses_its_crews_and_what_lies_hidden_in_its_rows() -> None:
    rows = pl.DataFrame({"job_id": ["J-1"], "crew_id": ["C03"], "why": ["crew 7 is late"], "hidden": ["C12"]})
    columns = (Column("job_id", "job", under="crew_id", link="record"), Column("crew_id", "crew"), Column("why", "why"))
    [table] = only(Table(columns, rows, "Jobs of C03"))
    assert [column.key for column in table.columns] == ["job_id", "why"]
    assert table.columns[0].under == table.columns[0].link == ""
    assert table.rows.to_dicts() == [{"job_id": "J-1", "why": "a crew is late"}]
    assert table.title == "Jobs of a crew"


def test_a_table_of_crews_goes_whole_and_takes_its_section_along() -> None:
    table = Table((Column("crew_id", "crew"), Column("n", "n")), pl.DataFrame({"crew_id": ["7"], "n": [1]}), "Crews")
    assert only(table, Section("Crews", (Words("Fair."), table))) == ()


def test_a_chart_of_crews_and_a_reason_that_tells_one_go() -> None:
    plain = layered([alt.Chart(pl.DataFrame({"x": [1]})).mark_point().encode(x="x:Q")], height_px=100)
    crews = layered([alt.Chart(pl.DataFrame({"crew_id": ["7"]})).mark_point().encode(x="crew_id:N")], height_px=100)
    reasons = Reasons("Why", (ReasonLine("crew C12"), ReasonLine("wide")))
    chart, why = only(Chart((plain, crews), "Two."), Chart((crews,), "One."), reasons)
    assert chart.plots == (plain,)
    assert [line.text for line in why.rows] == ["wide"]


def test_a_link_with_choices_of_its_own_to_a_closed_page_goes() -> None:
    columns = (Column("kind", "kind", link="crews?months=12"), Column("season", "season", link="leak-backs?months=24"))
    [table] = seen_by(
        ESTIMATOR, Page("A.", (Table(columns, pl.DataFrame({"kind": ["a"], "season": ["b"]}), "T"),)), ()
    ).parts
    assert isinstance(table, Table)
    assert [column.link for column in table.columns] == ["", "leak-backs?months=24"]


def test_a_file_that_is_made_already_is_handed_over_as_it_is() -> None:
    [offered] = seen_by(VIEWER, Page("A.", (Downloads((Download("Take it", "it.zip", lambda: b"C05"),)),)), CREWS).parts
    assert isinstance(offered, Downloads)
    assert offered.rows[0].document() == b"C05"


def test_a_page_set_apart_tells_no_crew_either() -> None:
    apart = (
        Page("Job J-2, crew C03.", (Words("crew C03"), Reasons("Why", (ReasonLine("crew C03"), ReasonLine("wide"))))),
    )
    [seen] = seen_by(VIEWER, Page("A.", apart=apart), CREWS).apart
    words, why = seen.parts
    assert (seen.answer, words) == ("Job J-2.", Words("a crew"))
    assert isinstance(why, Reasons)
    assert [line.text for line in why.rows] == ["wide"]


def test_no_choice_offers_a_crew_and_no_address_asks_for_one() -> None:
    by = Choice("by", "Compare by", {"resin": "resin", "crew": "crew", "resin,crew": "both"}, "resin")
    one = Choice("crew", "Crew", {"every": "all", "C03": "C03"}, "every")
    seen = seen_by(VIEWER, Page("A.", choices=(by, one)), CREWS)
    assert [dict(choice.options) for choice in seen.choices if isinstance(choice, Choice)] == [{"resin": "resin"}]
    asked = {"by": "crew", "crew": "C03", "crew_id": "C03", "months": "12"}
    assert asked_by(VIEWER, asked) == {"months": "12"}
    assert asked_by(ESTIMATOR, asked) == {"crew": "C03", "crew_id": "C03", "months": "12"}
    assert asked_by(RIGHTS["lead"], asked) == asked


def demo_views(store: Path) -> Iterator[tuple[str, dict[str, str]]]:
    yield from ((path, {}) for path in PAGES)
    yield from ((path, {"by": "crew"}) for path in ("leak-backs", "prices"))
    job = Records.of(store).ask("planned_cracks")["job_id"][0]
    yield from (("upcoming", said) for said in ({"crew": "C03"}, {"crew_id": "C03"}, {"job_id": job}))
    yield from (("quote", {"crew_id": "C03"}), ("record", {"job_id": job}))


def test_the_viewer_is_told_no_crew_on_any_page_of_the_demo(demo_store: Path) -> None:
    names = Records.of(demo_store).ask("known_names").filter(pl.col("column_name") == "crew_id")["name"]
    crew = re.compile(rf"(?<![\w-])(?:{'|'.join(names)})(?![\w-])")
    for path, said in demo_views(demo_store):
        page = dashboard.page(demo_store, path, "viewer", said)
        found = [text for text in told(page) if crew.search(text)]
        assert not found, (path, said, [crew.findall(text)[:3] for text in found])
        assert not list(kinds(page, Form)), path
        assert page.answer


def test_what_the_viewer_is_not_told_is_there_for_the_owner(demo_store: Path) -> None:
    texts = "\n".join(told(dashboard.page(demo_store, "upcoming", "owner", {})))
    assert re.search(r"\bC\d\d\b", texts)


@pytest.mark.parametrize("role", ROLES)
def test_a_closed_page_says_whom_to_ask_and_shows_nothing(role: Role, tmp_path: Path) -> None:
    for path in RIGHTS[role].closed:
        page = dashboard.page(tmp_path / "no.duckdb", path, role, {})
        assert page.answer.endswith(f"not open to {'an' if role[0] in 'aeiou' else 'a'} {role}.")
        assert not page.parts
        assert not page.choices


def test_an_amount_of_money_is_told_to_whom_prices_are_open(demo_store: Path) -> None:
    views = [*demo_views(demo_store), ("crews", {"crew_id": "C05"}), ("record", {"job_id": "J-0534"})]
    amount = re.compile(r"\d\s?USD")
    pages = [(path, said, dashboard.page(demo_store, path, "lead", said)) for path, said in views]
    assert [(path, said) for path, said, page in pages if amount.search("\n".join(told(page)))] == []
    for role in ROLES:
        texts = "\n".join(told(dashboard.page(demo_store, "take-ratio", role, {})))
        assert bool(amount.search(texts)) is RIGHTS[role].opens("prices"), role


def test_a_report_is_offered_to_whom_all_that_is_in_it_is_open(demo_store: Path) -> None:
    for role in ROLES:
        offered = kinds(dashboard.page(demo_store, "today", role, {}), Downloads)
        labels = [file.label for part in offered for file in part.rows]
        assert any("report of October 2026" in label for label in labels) == (role == "owner"), role


def test_words_link_only_to_pages_that_are_open_to_the_role() -> None:
    said = Words("Under Crews, or Leak-backs.", links=(("Crews", "crews?months=12"), ("Leak-backs", "leak-backs")))
    [shown] = seen_by(RIGHTS["estimator"], Page("Answer.", (said,)), ()).parts
    assert shown == Words(said.text, links=(("Leak-backs", "leak-backs"),))
    assert seen_by(RIGHTS["lead"], Page("Answer.", (said,)), ()).parts == (said,)

import logging
from threading import Event
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from analytics.contract import units
from analytics.errors import StoreError
from analytics.pages.page import Chart, Choice, Document, Download, Downloads, Page, Question, Said, Table, TypedNumber
from analytics.render import screen
from analytics.render.foresight import Foresight

PATIENCE_SECONDS = 60


def _show(page: "Page") -> None:
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.show(page)


def _answer(question: "Question") -> None:
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.answer(question)


def _run(questions: "tuple[Question, ...]") -> None:
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.run(questions, "Made up.")


def shown(script: Any, argument: object, **said: str) -> AppTest:
    app = AppTest.from_function(script, args=(argument,), default_timeout=PATIENCE_SECONDS)
    for key, value in said.items():
        app.query_params[key] = value
    app.run()
    assert not app.exception
    return app


def html(app: AppTest) -> str:
    return "\n".join(element.proto.body for element in app.get("html"))


def _run_ahead(questions: "tuple[Question, ...]") -> None:
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.run(questions, ahead=questions)


def test_other_pages_are_worked_out_while_one_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    works, built, asked = Foresight(), Event(), list[tuple[str, Said]]()

    def first(said: Said) -> Page:
        asked.append(("one", said))
        return Page(answer="First.")

    def second(said: Said) -> Page:
        asked.append(("two", said))
        built.set()
        return Page(answer="Second.")

    monkeypatch.setattr(screen, "FORESIGHT", works)
    works.start()
    app = shown(_run_ahead, (Question("one", "One", first), Question("two", "Two", second)))
    assert "First." in html(app)
    assert built.wait(PATIENCE_SECONDS)
    assert asked == [("one", {}), ("two", {})]


def test_every_part_is_on_the_screen(page: Page) -> None:
    app = shown(_show, page)
    text = html(app)
    assert text.index("lb-answer") < text.index("lb-table") < text.index("lb-figures") < text.index("lb-drawing")
    assert "&lt;script&gt;" in text
    assert "<script" not in text
    assert app.expander[0].label == "How this is worked out"
    assert app.selectbox[0].options == ["12 months", "24 months"]


def test_charts_carry_their_words(page: Page) -> None:
    app = shown(_show, page)
    assert [chart.proto.alt for chart in app.get("vega_lite_chart")] == [
        "Two plots. (1 of 2)",
        "Two plots. (2 of 2)",
    ]


def test_the_address_is_what_the_page_is_built_from(page: Page) -> None:
    months = page.choices[0]
    assert isinstance(months, Choice)

    def build(said: Said) -> Page:
        return Page(f"Within {months.of(said)} months.", choices=page.choices)

    app = shown(_answer, Question("rates", "Rates", build), months="12 months")
    assert "Within 12 months." in html(app)
    assert app.selectbox[0].value == "12 months"


def test_a_number_out_of_bounds_stays_in_its_box_and_reaches_the_page() -> None:
    entry = TypedNumber("length_m", "Length", 2.4, 0.01, 50.0, "m")
    question = Question("quote", "Quote", lambda said: Page(f"Length {dict(said).get('length_m')}.", choices=(entry,)))
    app = shown(_answer, question, length_m="100")
    assert "Length 100." in html(app)
    assert app.text_input[0].value == "100"


def test_what_is_asked_of_one_thing_more_stands_on_a_line_of_its_own() -> None:
    keys = ("length_m", "width_mm", "length_m.2", "width_mm.2", "length_m.3")
    entries = tuple(TypedNumber(key, key, 1.0, 0.0, 5.0) for key in keys)
    app = shown(_answer, Question("quote", "Quote", lambda _: Page("Length.", choices=entries)))
    lines = [block for block in app.main.children.values() if str(getattr(block, "key", "")).startswith("choices")]
    assert [[box.key for box in line.text_input] for line in lines] == [[*keys[:2]], [*keys[2:4]], [keys[4]]]


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("typed", ["0,4", "1/8 in", "8' 2\""])
def test_a_number_stands_in_its_box_as_it_was_typed(system: units.System, typed: str) -> None:
    entry = TypedNumber("length_m", "Length", 2.4, 0.01, 50.0, "m")

    def build(_: Said) -> Page:
        return Page("Length.", choices=(entry, Choice("water", "Water", {"dry": "dry"}, "dry")))

    with units.displayed(system):
        app = shown(_answer, Question("quote", "Quote", build), length_m=typed)
    assert not app.exception
    assert screen.UNEXPECTED not in html(app)
    assert app.text_input[0].value == typed


def test_what_a_user_can_cause_is_said_in_its_own_words() -> None:
    def build(_: Said) -> Page:
        raise StoreError("the store is held by another program")

    assert "the store is held by another program" in html(shown(_answer, Question("a", "A", build)))


def test_the_unexpected_is_one_calm_line_and_a_traceback_in_the_log(caplog: pytest.LogCaptureFixture) -> None:
    def build(_: Said) -> Page:
        raise ZeroDivisionError("secret")

    with caplog.at_level(logging.ERROR, "leakback"):
        app = shown(_answer, Question("rates", "Rates", build))
    assert screen.UNEXPECTED in html(app)
    assert "secret" not in html(app)
    assert "ZeroDivisionError: secret" in caplog.text


def test_the_first_question_opens_under_a_row_of_links() -> None:
    questions = tuple(Question(name, name.title(), lambda _: Page("Answer.")) for name in ("today", "crews"))
    app = shown(_run, questions)
    assert '<a class="lb-here" href="./" aria-current="page">Today</a>' in html(app)
    assert [link.proto.label for link in app.get("page_link")] == ["Crews"]
    assert "--accent:light-dark(" in html(app)
    assert "Made up." in html(app)
    assert "Answer." in html(app)


def test_an_unknown_part_is_our_mistake() -> None:
    with pytest.raises(TypeError, match="cannot show int"):
        screen.show_part(3)


def test_one_plot_takes_the_whole_width(page: Page) -> None:
    chart = next(part for part in page.parts if isinstance(part, Chart))
    app = shown(_show, Page("Answer.", (Chart(chart.plots[:1], "One.", note="A note."),)))
    assert [one.proto.alt for one in app.get("vega_lite_chart")] == ["One."]
    assert "A note." in html(app)
    assert not app.columns


def test_tables_and_charts_are_offered_to_be_taken_and_made_when_asked(page: Page, planned: Table) -> None:
    made: list[str] = []

    def document() -> Document:
        made.append("made")
        return Document("Made up", (Page("Answer."),))

    offered = Downloads((Download("Print it", "a.pdf", document),))
    app = shown(_show, Page("Answer.", (offered, planned, *page.parts[1:2])))
    labels = [button.proto.label for button in app.get("download_button")]
    assert labels == ["Print it", "as CSV", "as XLSX", "as PNG", "as SVG"]
    assert made == []


def test_an_empty_table_offers_nothing(planned: Table) -> None:
    empty = Table(planned.columns, planned.rows.clear(), "t")
    assert not shown(_show, Page("Answer.", (empty,))).get("download_button")

"""Forms on the screen: what is typed reaches the page's own hands, and stays until it is recorded."""

from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from analytics.answers.standing import SERVING_VARIABLE
from analytics.errors import LeakbackError
from analytics.pages.form import TODAY, Field, Fieldset, Form, Typed
from analytics.pages.page import Folded, Page, Question
from analytics.render import forms, pressed

PATIENCE_SECONDS = 60


def _answer(question: "Question") -> None:
    from analytics.render import forms as _  # noqa: PLC0415, F401 - the script runs on its own
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    shown.answer(question)


def _answer_in_us_units(question: "Question") -> None:
    from analytics.contract.units import displayed as shown_in  # noqa: PLC0415 - the script runs on its own
    from analytics.render import forms as _  # noqa: PLC0415, F401 - the script runs on its own
    from analytics.render import screen as shown  # noqa: PLC0415 - the script runs on its own

    with shown_in("us"):
        shown.answer(question)


class Desk:
    """Takes what is handed in, and refuses what has no length."""

    def __init__(self) -> None:
        self.taken: list[Typed] = []

    def take(self, typed: Typed) -> str:
        if typed["length_m"] == "boom":
            raise ZeroDivisionError
        if not typed["length_m"]:
            raise LeakbackError("Not recorded: length_m must not be blank <b>.")
        self.taken.append(typed)
        return f"Recorded: {typed['length_m']}."


def question(desk: Desk, length_m: str = "") -> Question:
    fields = (
        Field("length_m", "length", unit="m", help="Length along the crack.", default=length_m),
        Field("water", "water", "choice", options={"": "not recorded", "dry": "dry"}),
        Field("crew_id", "crew", options={"C1": "C1"}, default="C9"),
        Field("done_on", "done on", "day", default="2026-10-31"),
        Field("decided_on", "decided on", "day", default=TODAY),
        Field("asked_on", "asked on", "day"),
    )
    form = Form("crack", "Change this crack", (Fieldset(fields, "Crack 1"),), desk.take, note="A note.")
    return Question("record", "Record", lambda _: Page("Answer.", (Folded("New figures", (form,)),)))


@pytest.fixture
def desk() -> Desk:
    return Desk()


def opened(desk: Desk) -> AppTest:
    app = AppTest.from_function(_answer, args=(question(desk),), default_timeout=PATIENCE_SECONDS)
    app.run()
    assert not app.exception
    return app


def html(app: AppTest) -> str:
    return "\n".join(element.proto.body for element in app.get("html"))


def press(app: AppTest) -> Any:
    done = app.button[0].click().run()
    assert not done.exception
    return done


def test_a_field_that_nobody_touched_is_as_somebody_else_changed_it_meanwhile(desk: Desk) -> None:
    held = {"length_m": "2", "water": "", "crew_id": "C1", "done_on": "2026-10-31", "branch": ""}

    def build(_: object) -> Page:
        fields = (
            Field("length_m", "length", unit="m", default=held["length_m"]),
            Field("water", "water", "choice", options={"": "not recorded", "dry": "dry"}, default=held["water"]),
            Field("crew_id", "crew", "number", default=held["crew_id"]),
            Field("done_on", "done on", "day", default=held["done_on"]),
            Field("branch", "branch", options={"East": "East"}, default=held["branch"]),
        )
        return Page("Answer.", (Form("crack", "Change this crack", (Fieldset(fields),), desk.take),))

    asked = Question("record", "Record", build)
    app = AppTest.from_function(_answer, args=(asked,), default_timeout=PATIENCE_SECONDS).run()
    held |= {"length_m": "3", "water": "dry", "crew_id": "C2", "done_on": "2026-11-01", "branch": "East"}
    app.text_input[1].set_value("C3")
    press(app)
    assert desk.taken == [held | {"crew_id": "C3"}]


def test_a_field_that_comes_up_again_may_be_set_back_to_what_it_first_held(desk: Desk) -> None:
    """Somebody leaves the page, another changes the length from 2 to 3, and it is typed as 2 again."""
    held, here = {"length_m": "2"}, [True]

    def build(_: object) -> Page:
        form = Form(
            "crack",
            "Change this crack",
            (Fieldset((Field("length_m", "length", default=held["length_m"]),)),),
            desk.take,
        )
        return Page("Answer.", (form,) if here[0] else ())

    app = AppTest.from_function(_answer, args=(Question("record", "Record", build),), default_timeout=PATIENCE_SECONDS)
    app.run()
    here[0] = False
    app.run()
    here[0], held["length_m"] = True, "3"
    app.run()
    assert app.text_input[0].value == "3"
    app.text_input[0].set_value("2")
    press(app)
    assert desk.taken == [{"length_m": "2"}]


def test_a_form_stands_folded_with_its_verb_on_the_button(desk: Desk) -> None:
    app = opened(desk)
    assert app.expander[0].label == "New figures"
    assert app.button[0].label == "Change this crack"
    assert app.text_input[0].label == "Length, m"
    assert app.selectbox[0].options == ["not recorded", "dry"]
    assert "A note." in html(app)


def test_what_is_typed_is_handed_on_as_text(desk: Desk) -> None:
    app = opened(desk)
    app.text_input[0].input("2,4")
    app.selectbox[0].select("dry")
    press(app)
    [typed] = desk.taken
    assert {**typed, "decided_on": ""} == {
        "length_m": "2,4",
        "water": "dry",
        "crew_id": "C9",
        "done_on": "2026-10-31",
        "decided_on": "",
        "asked_on": "",
    }
    assert len(typed["decided_on"]) == len("2026-10-31")


def test_once_recorded_the_sentence_is_shown_and_the_form_starts_afresh(desk: Desk) -> None:
    app = opened(desk)
    app.text_input[0].input("2.4")
    press(app)
    assert "Recorded: 2.4." in html(app)
    assert 'role="status"' in html(app)
    assert app.text_input[0].value == ""
    app.run()
    assert "Recorded" not in html(app)


def test_what_was_recorded_can_be_opened(desk: Desk) -> None:
    form = Form(
        "job", "Plan", (Fieldset((Field("length_m", "length"),)),), desk.take, opens=lambda _: 'record?job_id="1'
    )
    app = AppTest.from_function(
        _answer,
        args=(Question("record", "Record", lambda _: Page("Answer.", (form,))),),
        default_timeout=PATIENCE_SECONDS,
    ).run()
    app.text_input[0].input("2.4")
    press(app)
    assert 'Recorded: 2.4. <a href="record?job_id=&quot;1">Open it</a>' in html(app)


def test_what_is_refused_is_said_and_nothing_typed_is_lost(desk: Desk) -> None:
    app = opened(desk)
    app.selectbox[0].select("dry")
    press(app)
    assert "length_m must not be blank &lt;b&gt;." in html(app)
    assert 'role="alert"' in html(app)
    assert app.selectbox[0].value == "dry"
    assert desk.taken == []


def test_the_unexpected_is_one_calm_line(desk: Desk, caplog: pytest.LogCaptureFixture) -> None:
    app = opened(desk)
    app.text_input[0].input("boom")
    press(app)
    assert forms.FAILED in html(app)
    assert app.text_input[0].value == "boom"
    assert "ZeroDivisionError" in caplog.text


@pytest.mark.parametrize(
    ("typed", "handed_on"), [(None, "2.438"), ("9", "9 ft"), ("7 1/2", "7 1/2 ft"), ("2.5 m", "2.5 m"), ("8", "2.438")]
)
def test_a_reader_of_feet_types_feet_and_untouched_figures_stay_as_they_are(
    desk: Desk, typed: str | None, handed_on: str
) -> None:
    app = AppTest.from_function(_answer_in_us_units, args=(question(desk, "2.438"),), default_timeout=PATIENCE_SECONDS)
    app.run()
    assert (app.text_input[0].label, app.text_input[0].value) == ("Length, ft", "8")
    if typed is not None:
        app.text_input[0].input(typed)
    press(app)
    assert desk.taken[0]["length_m"] == handed_on


@pytest.mark.parametrize(
    ("serving", "said"),
    [("", pressed.GONE), ("1", "Not done: somebody without a role may not plan or change a job. Ask an owner")],
)
def test_a_press_on_a_form_that_is_gone_meanwhile_is_answered(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, serving: str, said: str
) -> None:
    form = Form("crack", "Change this crack", (Fieldset((Field("length_m", "length"),)),), desk.take, needs="plan")
    pages = [Page("Answer.", (form,)), Page("Answer."), Page("Answer.")]
    shown = Question("record", "Record", lambda _: pages.pop(0))
    app = AppTest.from_function(_answer, args=(shown,), default_timeout=PATIENCE_SECONDS).run()
    monkeypatch.setenv(SERVING_VARIABLE, serving)
    app.text_input[0].input("2.4")
    assert said in html(press(app))
    assert not app.button
    assert said not in html(app.run())
    assert desk.taken == []

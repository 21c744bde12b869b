"""The model card as a page: what is left out of its tables is counted only where anything is."""

from dataclasses import replace
from pathlib import Path

from analytics.answers.modelling import current
from analytics.answers.records import Records
from analytics.pages import trust
from analytics.pages.page import Page, Table
from analytics.pages.within import every_part

EFFECTS = "What each fact does"
MOVED = "How far the measurements have moved"


def note(page: Page, title: str = MOVED) -> str:
    [table] = [part for part in every_part(page.parts) if isinstance(part, Table) and part.title == title]
    return table.note


def test_the_screen_names_no_command_for_the_facts_it_leaves_out(demo_store: Path) -> None:
    model = current(Records.of(demo_store)).model
    assert model is not None
    assert note(trust.card(model), EFFECTS).endswith("may be chance alone. The CSV and XLSX have them.")
    assert note(trust.card(model, drawn=False), EFFECTS).endswith("All are in: leakback fit --format json.")


def test_the_measurements_not_shown_are_counted_where_there_are_any(demo_store: Path) -> None:
    model = current(Records.of(demo_store)).model
    assert model is not None
    assert model.drift is not None
    left = len(model.drift.moved) - trust.SHOWN_MOVED
    assert note(trust.card(model, drawn=False)) == f"The other {left} measurements have moved no further."
    few = replace(model, drift=replace(model.drift, moved=model.drift.moved[: trust.SHOWN_MOVED]))
    assert note(trust.card(few, drawn=False)) == ""

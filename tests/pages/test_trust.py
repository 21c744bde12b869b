"""The model card as a page: what is left out of its tables is counted only where anything is."""

from dataclasses import replace
from pathlib import Path

from analytics.answers.modelling import current
from analytics.answers.records import Records
from analytics.pages import trust
from analytics.pages.page import Page, Table
from analytics.pages.within import every_part

MOVED = "How far the measurements have moved"


def note(page: Page) -> str:
    [table] = [part for part in every_part(page.parts) if isinstance(part, Table) and part.title == MOVED]
    return table.note


def test_the_measurements_not_shown_are_counted_where_there_are_any(demo_store: Path) -> None:
    model = current(Records.of(demo_store)).model
    assert model is not None
    assert model.drift is not None
    left = len(model.drift.moved) - trust.SHOWN_MOVED
    assert note(trust.card(model, drawn=False)) == f"The other {left} measurements have moved no further."
    few = replace(model, drift=replace(model.drift, moved=model.drift.moved[: trust.SHOWN_MOVED]))
    assert note(trust.card(few, drawn=False)) == ""

"""A planned job's page: what stands beside a drawing says what the drawing says."""

from pathlib import Path

import pytest

from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.contract import units, words
from analytics.pages import job
from analytics.pages.page import Figures
from analytics.pages.within import every_part
from analytics.render.cells import figure


@pytest.mark.parametrize("display", ["metric", "us"])
def test_the_figures_beside_a_drawing_are_those_on_it(demo_store: Path, display: units.System) -> None:
    found = flagging.flags(Records.of(demo_store))
    # 1.69 m at 175 mm: 10 gaps of 169 mm, and 1.1 mm × 200 mm × 1.69 m = 0.3718 L
    [(_, facts)] = job.of_job(found, "J-5006")
    with units.displayed(display):
        shown = [part for part in every_part(job.build(found, "J-5006").parts) if isinstance(part, Figures)]
        said = {row.label: row for part in shown for row in part.rows}
        drawn = job.drawing(facts)
        assert drawn is not None
        ports = f"{figure(said['ports'])} ports, {words.size(169, 'mm')} apart"
        assert ports in drawn.svg
        assert f"{words.size(169, 'mm')} apart" in said["ports"].note
        assert f"void {figure(said['void to fill'])}<" in drawn.svg


def test_the_level_stands_beside_the_risk(demo_store: Path) -> None:
    found = flagging.flags(Records.of(demo_store), level=0.9)
    shown = [part for part in every_part(job.build(found, "J-5006").parts) if isinstance(part, Figures)]
    said = {row.label: row.note for part in shown for row in part.rows}
    assert said["leak-back within 24 months"] == "90\u202f% interval"
    for flag, facts in job.of_job(found, "J-5006"):
        risk, *others = job.figures_on_paper(found, flag, facts).rows
        assert risk.note == "90\u202f% interval"
        assert not any(row.note for row in others if row.value is not None)

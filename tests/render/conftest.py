"""A made-up page with one part of every kind."""

import sys
from datetime import date

import altair as alt
import polars as pl
import pytest

from analytics.charts.drawing import Crack, describe_crack, draw_crack
from analytics.charts.plot import layered
from analytics.pages.page import (
    Caution,
    Chart,
    Choice,
    Column,
    Drawing,
    Figure,
    Figures,
    Page,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)

NASTY = "<script>alert(1)</script>"


@pytest.fixture(autouse=True)
def own_main(monkeypatch: pytest.MonkeyPatch) -> None:
    """The app that a test runs makes itself the main module; other tests' processes start from the real one."""
    monkeypatch.setitem(sys.modules, "__main__", sys.modules["__main__"])


@pytest.fixture
def planned() -> Table:
    rows = pl.DataFrame(
        {
            "planned_on": [date(2026, 11, 9), date(2026, 11, 10)],
            "job_id": ["J-3982", NASTY],
            "crew": ["crew C03", None],
            "action": ["engineer_review", "standard"],
            "why": ["horizontal crack, 1.4 m; offset 4 mm", ""],
            "risk": [0.09, None],
            "low": [0.06, None],
            "high": [0.13, None],
        }
    )
    columns = (
        Column("planned_on", "when", "date"),
        Column("job_id", "job", under="crew", link="check-a-quote"),
        Column("action", "what it needs", "action"),
        Column("why", "why"),
        Column(
            "risk", "leak-back in 24 months", "percent", low="low", high="high", digits=0, help="Of cracks like it."
        ),
    )
    return Table(columns, rows, "Planned cracks", note="A made-up table.")


@pytest.fixture
def page(planned: Table) -> Page:
    crack = Crack("vertical", 2.4, (0.0, 1200.0, 2400.0), 200.0, 0.8)
    plot = layered([alt.Chart(pl.DataFrame({"x": [1]})).mark_point().encode(x="x:Q")], height_px=100)
    section = Section(
        "J-3982, crack 1 of 2",
        (
            Words("Vertical, 2.4 m.\n\nSeeping.", "muted"),
            Reasons(
                "Why it is flagged",
                (ReasonLine(f"offset {NASTY}", "× 1.8", "Ask the engineer.", "ACI 224.1R", "extra_prep"),),
            ),
            Caution("A screening aid.", "BRE Digest 251"),
        ),
        aside=Drawing(draw_crack(crack), describe_crack(crack)),
    )
    figures = Figures((Figure("Leak-back rate", 0.071, 0.054, 0.093, "806 cracks", "percent"),))
    return Page(
        answer="Of 60 planned cracks, 4 need an engineer first.",
        parts=(planned, Chart((plot, plot), "Two plots."), figures, section),
        choices=(Choice("months", "Within", {"12": "12 months", "24": "24 months"}, "24"),),
        worked_out="**Formula**: observed over expected.",
        wanting="About 18 more would do.",
    )

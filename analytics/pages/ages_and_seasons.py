"""When repairs leak back: by their age and the season they were done in."""

from collections.abc import Mapping

import polars as pl

from analytics.answers.leak_back_ages import FEWEST_YEARS, by_age_and_season
from analytics.answers.records import Records
from analytics.charts.heat import rate_grid
from analytics.contract import words
from analytics.contract.dimensions import Dimension
from analytics.pages.page import Chart, Column, Folded, Part, Section, Table, Words

TITLE = "By age of the repair and season it was done in"
NOTE = (
    "Large: leak-backs per 100 cracks watched for a year at that age. Small: how many were seen. A dash: less was "
    f"watched than {FEWEST_YEARS:g} cracks for a year."
)


def heat(records: Records, only: Mapping[Dimension, str]) -> tuple[Part, ...]:
    """The grid and, folded away, its figures with their intervals; nothing where nothing was watched long enough."""
    rows = by_age_and_season(records, only)
    plot = rate_grid(rows.select(row="season", column="age", value="value", count="leak_backs"), "months of age")
    if plot is None:
        return ()
    table = Folded("The figures of this grid, with their intervals", (_table(rows),))
    return (Section(TITLE, (Words(_said(rows)), Chart((plot,), _said(rows), NOTE), table)),)


def _said(rows: pl.DataFrame) -> str:
    worst = rows.drop_nulls("value").sort("value").row(-1, named=True)
    rate = words.estimate(worst["value"], worst["low"], worst["high"], 1)
    return (
        f"Most leak-backs for the time watched: {rate} a year of 100 cracks watched, {worst['age']} months after work "
        f"done in {worst['season']}."
    )


def _table(rows: pl.DataFrame) -> Table:
    columns = (
        Column("season", "season of the repair"),
        Column("age", "months of age"),
        Column("value", "a year, of 100 cracks", "number", low="low", high="high", digits=1),
        Column("leak_backs", "leak-backs", "number"),
        Column("years", "crack-years watched", "number", digits=0),
    )
    return Table(columns, rows, f"{TITLE}; intervals at {words.level()}")

"""At which price against the target quotes were won."""

import polars as pl

from analytics.answers.winning import Winning
from analytics.charts.dots import interval_dots
from analytics.charts.win_curve import win_curve_plot
from analytics.contract import words
from analytics.pages.page import Chart, Column, Part, Section, Table, Words

HEADING = "Which quotes were won"
EVERY_NTH = 4


def section(won: Winning, currency: str) -> Section:
    """Win rate by band of price over target, then the curve with its warning."""
    if won.bands.is_empty():
        return Section(HEADING, tuple(Words(text) for text in won.said))
    total = f"{words.counted(won.quotes, 'quote')}, {words.number(won.lost)} of them lost"
    without = f" {words.counted(won.left_out, 'quote')} could not be priced." if won.left_out else ""
    parts: tuple[Part, ...] = (
        Words(f"By price over target, at the rates of the day quoted, for no crew in particular: {total}.{without}"),
        *_bands(won),
        *_curve(won, currency),
        *(Words(text) for text in won.said),
    )
    return Section(HEADING, parts)


def _bands(won: Winning) -> tuple[Part, ...]:
    rows = won.bands.rename({"band": "group", "quotes": "count"})
    plot = interval_dots(rows, counted="quote")
    columns = (
        Column("band", "price, of the target"),
        Column("quotes", "quotes", kind="number"),
        Column("value", "won", kind="percent", low="low", high="high", digits=0),
    )
    table = Table(columns, won.bands, title="Win rate by price over target")
    chart = (
        (Chart((plot,), "Share of quotes won by band of price over target, each with its interval."),) if plot else ()
    )
    return (*chart, table)


def _curve(won: Winning, currency: str) -> tuple[Part, ...]:
    plot = win_curve_plot(won.curve)
    if plot is None:
        return ()
    shown = won.curve.gather_every(EVERY_NTH).with_columns(pl.col("ratio").round(2))
    columns = (
        Column("ratio", "price, of the target", kind="percent", digits=0),
        Column("value", "won", kind="percent", low="low", high="high", digits=0),
        Column(
            "contribution",
            "left above the floor a quote",
            kind="number",
            unit=currency,
            digits=0,
            help="on average over won and lost quotes, at the mean target and floor of all quotes",
        ),
    )
    alt = "Share of quotes won by price over target, within the prices seen, with its band."
    return (Chart((plot,), alt), Table(columns, shown, title="What a quote brought at each price"))

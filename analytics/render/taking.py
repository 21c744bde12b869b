"""What a reader may take away of a table or a chart, each file made only when it is asked for."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from analytics.pages.page import Chart, Table

LONGEST_NAME = 60
_NOT_IN_NAMES = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class File:
    """A file on offer: what the button says, the file's name, and what makes it."""

    label: str
    name: str
    make: Callable[[], bytes]


def table_files(table: Table) -> tuple[File, ...]:
    """The table as CSV and as XLSX."""
    name = _named(table.title)
    return (
        File("as CSV", f"{name}.csv", lambda: _spreadsheet(table, "csv")),
        File("as XLSX", f"{name}.xlsx", lambda: _spreadsheet(table, "xlsx")),
    )


def chart_files(chart: Chart) -> tuple[File, ...]:
    """The chart as PNG and as SVG, in light colours."""
    name = _named(chart.alt)
    return (
        File("as PNG", f"{name}.png", lambda: _picture(chart, "png")),
        File("as SVG", f"{name}.svg", lambda: _picture(chart, "svg")),
    )


def _named(words: str) -> str:
    """``leak-back-rate-of-each-crew``: the words as a file's name, cut at a word's end."""
    name = _NOT_IN_NAMES.sub("-", words.lower()).strip("-")
    return (name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME + 1].rpartition("-")[0]) or "leakback"


def _spreadsheet(table: Table, form: str) -> bytes:
    from analytics.render import spreadsheets  # noqa: PLC0415 - loaded when somebody asks, so that pages stay quick

    return spreadsheets.csv(table) if form == "csv" else spreadsheets.xlsx(table)


def _picture(chart: Chart, form: str) -> bytes:
    from analytics.render import pictures  # noqa: PLC0415 - loaded when somebody asks, so that pages stay quick

    return pictures.chart_png(chart) if form == "png" else pictures.chart_svg(chart, ground=True).encode()

"""Pages in the terminal: the same parts in the same order; a chart is left to the table that says the same."""

from dataclasses import dataclass
from functools import singledispatch
from textwrap import wrap

from rich.console import Console, JustifyMethod
from rich.markdown import Markdown
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from analytics.charts import words
from analytics.contract import units
from analytics.pages.form import Form
from analytics.pages.page import (
    Caution,
    Chart,
    Column,
    Downloads,
    Drawing,
    Figures,
    Folded,
    Page,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blanks, Steps
from analytics.pages.upload import Upload
from analytics.render.cells import RIGHT, Cell, cell, column_label, digits_of, figure, source_said, wide_columns

TONES = {"plain": "", "strong": "bold", "muted": "dim"}
MUTED = "dim"
GAP = 2


def show(page: Page, console: Console | None = None, *, worked_out: bool = False) -> None:
    """Write the page to ``console`` (standard output), coloured only on a terminal; ``worked_out`` adds the method."""
    console = console or Console(highlight=False)
    _write(console, page.answer, "bold")
    if page.wanting:
        _write(console, page.wanting, MUTED)
    for part in page.parts:
        show_part(part, console)
    if worked_out and page.worked_out:
        console.print()
        console.print(Markdown(page.worked_out))


@singledispatch
def show_part(part: object, console: Console) -> None:
    """Write one part of a page to ``console``."""
    raise TypeError(f"the terminal cannot show {type(part).__name__} at {console.width} columns")


@show_part.register
def _(part: Words, console: Console) -> None:
    console.print()
    for block in part.text.split("\n\n"):
        _write(console, " ".join(block.split()), TONES[part.tone])


@show_part.register
def _(part: Figures, console: Console) -> None:
    grid = Grid.grid(padding=(0, 2))
    grid.add_column()
    grid.add_column(justify="right")
    grid.add_column(style=MUTED)
    for row in part.rows:
        quiet = ", ".join(text for text in (row.count, row.note) if text)
        grid.add_row(_text(row.label), _text(figure(row), "bold"), _text(quiet))
    console.print()
    console.print(grid)


@show_part.register
def _(part: Table, console: Console) -> None:
    console.print()
    if part.rows.is_empty():
        _write(console, part.empty, MUTED)
        return
    fit = next((fit for fit in FITS if _letters(part, fit) <= console.width), FITS[-1])
    console.print(_grid(part, fit))
    if part.note:
        _write(console, part.note, MUTED)


@dataclass(frozen=True)
class Fit:
    """How a table is laid out: what stands before what is muted and after a range's "to", and how wide a heading is."""

    before_muted: str
    after_to: str
    heading_letters: int


FITS = (Fit(" ", " ", 16), Fit("\n", " ", 8), Fit("\n", "\n", 8))
"""From roomy to narrow. In the last any cell may be broken further, for none may be cut off."""


def _letters(part: Table, fit: Fit) -> int:
    """How wide the table is, its long texts wrapped as far as their headings."""
    digits, wide = digits_of(part), wide_columns(part)
    total = 0
    for column in part.columns:
        cells = [_cell(cell(column, row, digits.get(column.key, 0)), fit) for row in part.rows.iter_rows(named=True)]
        lines = [] if column.key in wide else [line for one in cells for line in one.plain.split("\n")]
        total += GAP + max(map(len, (*lines, *_heading(column, fit))))
    return total


def _heading(column: Column, fit: Fit) -> list[str]:
    return wrap(words.text(column_label(column)), fit.heading_letters) or [""]


def _grid(part: Table, fit: Fit) -> Grid:
    """The table's rows."""
    digits, wide = digits_of(part), wide_columns(part)
    grid = Grid(box=None, pad_edge=False, padding=(0, GAP, 0, 0), header_style=MUTED)
    for column in part.columns:
        side: JustifyMethod = "right" if column.kind in RIGHT else "left"
        kept = fit is not FITS[-1] and column.key not in wide
        heading = Text("\n".join(_heading(column, fit)))
        grid.add_column(heading, justify=side, vertical="top", no_wrap=kept, overflow="fold")
    for row in part.rows.iter_rows(named=True):
        cells = (cell(column, row, digits.get(column.key, 0)) for column in part.columns)
        grid.add_row(*(_cell(one, fit) for one in cells))
    return grid


@show_part.register
def _(part: Chart, console: Console) -> None:
    if part.note:
        _write(console, part.note, MUTED)


@show_part.register
def _(part: Drawing, console: Console) -> None:
    _write(console, part.alt, MUTED)


@show_part.register
def _(part: Reasons, console: Console) -> None:
    console.print()
    _write(console, part.title, "bold")
    for line in part.rows:
        console.print(Padding(_reason(line), (0, 0, 0, 2), expand=False))


@show_part.register
def _(part: Steps, console: Console) -> None:
    console.print()
    _write(console, part.title, "bold")
    for number, row in enumerate(part.rows, start=1):
        said = _text(f"{number}. {row.text}")
        said.append(_source(row.source), MUTED)
        console.print(Padding(said, (0, 0, 0, 2), expand=False))
    if part.note:
        _write(console, part.note, MUTED)


@show_part.register
def _(part: Blanks, console: Console) -> None:
    console.print()
    _write(console, part.title, "bold")
    named = [(blank.label, units.shown_unit(blank.unit)) for blank in part.fields]
    fields = ", ".join(f"{label} ({unit})" if unit else label for label, unit in named)
    _write(console, f"{', '.join(part.rows)}: {fields}" if part.rows else fields, MUTED)


@show_part.register(Downloads | Form | Folded | Upload)
def _(part: Downloads | Form | Folded | Upload, console: Console) -> None:
    del part, console


@show_part.register
def _(part: Caution, console: Console) -> None:
    console.print()
    _write(console, f"{part.text}{_source(part.source)}", MUTED)


@show_part.register
def _(part: Section, console: Console) -> None:
    if _only_charts(part):
        return
    console.print()
    _write(console, part.title, "bold")
    for inner in (*((part.aside,) if part.aside else ()), *part.parts):
        show_part(inner, console)


def _cell(shown: Cell, fit: Fit) -> Text:
    said = _text(shown.main, shown.action.terminal if shown.action else "")
    under = words.text(shown.under).replace(" to ", f" to{fit.after_to}")
    return said.append(f"{fit.before_muted}({under})", MUTED) if under else said


def _reason(line: ReasonLine) -> Text:
    said = _text(f"- {line.text} {line.effect}".rstrip())
    said.append(f": {words.text(line.do)}" if line.do else "")
    return said.append(_source(line.source), MUTED)


def _source(source: str) -> str:
    return f" ({source_said(source)})" if source else ""


def _only_charts(part: Section) -> bool:
    return part.aside is None and all(isinstance(inner, Chart) and not inner.note for inner in part.parts)


def _write(console: Console, text: str, style: str = "") -> None:
    console.print(_text(text, style))


def _text(text: str, style: str = "") -> Text:
    return Text(words.text(text), style)

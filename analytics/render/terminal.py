"""Pages in the terminal: the same parts in the same order; a chart is left to the table that says the same."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import singledispatch
from textwrap import wrap

from rich.console import Console, JustifyMethod
from rich.markdown import Markdown
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from analytics.contract import units, words
from analytics.pages.page import (
    Caution,
    Chart,
    Column,
    Drawing,
    Figures,
    Page,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blanks, Steps
from analytics.pages.within import readable
from analytics.render.cells import Cell, cell, column_label, digits_of, figure, right_columns, source_said, wide_columns

TONES = {"plain": "", "strong": "bold", "muted": "dim", "stop": "bold"}
MUTED = "dim"
GAP = 2
LONGEST_WORD = 20
"""No word of a text is longer; what is, a name of many letters, may be broken."""


def show(page: Page, console: Console | None = None, *, worked_out: bool = False) -> None:
    """Write the page to ``console`` (standard output), coloured only on a terminal; ``worked_out`` adds the method."""
    console = console or Console(highlight=False)
    _write(console, page.answer, "bold")
    if page.wanting:
        _write(console, page.wanting, MUTED)
    for part in readable(page.parts):
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
    if part.listed.is_empty():
        _write(console, part.empty, MUTED)
        return
    _show_rows(part, console)
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


def _show_rows(part: Table, console: Console) -> None:
    """The rows, long texts in columns that break no word; where there is no room for one, beneath their row."""
    wide = wide_columns(part)
    fit, widths = _fitting(part, console.width)
    first, *others = part.columns
    short = replace(part, columns=(first, *(column for column in others if column.key not in wide)))
    if _left(widths, console.width) >= 0:
        console.print(_grid(part, fit, _shared(part, widths, console.width)))
    elif short.columns != part.columns:
        _show_with_texts_beneath(part, short, console)
    else:
        console.print(_grid(part, fit, {}))


def _fitting(part: Table, width: int) -> tuple[Fit, dict[str, int]]:
    """The roomiest way to lay the table out in ``width`` letters, else the narrowest, and how wide its columns are."""
    for fit in FITS:
        widths = _widths(part, fit)
        if _left(widths, width) >= 0:
            break
    return fit, widths


def _left(widths: Mapping[str, int], width: int) -> int:
    """What columns this wide leave of ``width`` letters."""
    return width - sum(widths.values()) - GAP * (len(widths) - 1)


def _widths(part: Table, fit: Fit) -> dict[str, int]:
    """How wide each column is at least: as its longest line, a long text as its longest word, up to a limit."""
    digits, wide, widths = digits_of(part), wide_columns(part), {}
    for column in part.columns:
        cells = [_cell(cell(column, row, digits.get(column.key, 0)), fit) for row in part.listed.iter_rows(named=True)]
        if column.key in wide:
            least = [min(len(word), LONGEST_WORD) for one in cells for word in one.plain.split()]
        else:
            least = [len(line) for one in cells for line in one.plain.split("\n")]
        widths[column.key] = max((*least, *map(len, _heading(column, fit))))
    return widths


def _shared(part: Table, widths: dict[str, int], width: int) -> dict[str, int]:
    """How wide the long texts are when they share what the other columns leave, the narrowest widened first."""
    longest = {key: max(map(len, map(words.text, part.listed[key]))) for key in wide_columns(part)}
    for _ in range(_left(widths, width)):
        if some := [key for key in longest if widths[key] < longest[key]]:
            widths[min(some, key=widths.__getitem__)] += 1
    return {key: widths[key] for key in longest}


def _squeezed(widths: dict[str, int], width: int) -> dict[str, int]:
    """The same where they fit, else the widest narrowed until they do."""
    for _ in range(-_left(widths, width)):
        widest = max(widths, key=widths.__getitem__)
        widths[widest] = max(1, widths[widest] - 1)
    return widths


def _show_with_texts_beneath(part: Table, short: Table, console: Console) -> None:
    """Each row of the ``short`` columns, its long texts on lines of their own."""
    texts = [column for column in part.columns if column not in short.columns]
    fit, widths = _fitting(short, console.width)
    widths, digits = _squeezed(widths, console.width), digits_of(short)
    for place in range(part.listed.height):
        row = part.listed.slice(place, 1)
        console.print(_grid(replace(short, rows=row), fit, widths, headed=place == 0, digits=digits))
        for column in texts:
            said = _cell(cell(column, row.row(0, named=True)), FITS[0])
            if said.plain:
                label = Text(f"{words.text(column_label(column))}: ", MUTED)
                console.print(Padding(label.append_text(said), (0, 0, 0, GAP), expand=False))


def _heading(column: Column, fit: Fit) -> list[str]:
    return wrap(words.text(column_label(column)), fit.heading_letters) or [""]


def _grid(
    part: Table,
    fit: Fit,
    widths: Mapping[str, int],
    *,
    headed: bool = True,
    digits: Mapping[str, int] | None = None,
) -> Grid:
    """The table's rows, columns as wide as ``widths`` say, the others as they must be."""
    digits, wide = digits_of(part) if digits is None else digits, wide_columns(part)
    right = right_columns(part)
    grid = Grid(box=None, pad_edge=False, padding=(0, GAP, 0, 0), header_style=MUTED, show_header=headed)
    for column in part.columns:
        side: JustifyMethod = "right" if column.key in right else "left"
        kept = fit is not FITS[-1] and column.key not in wide
        heading = Text("\n".join(_heading(column, fit)))
        width = widths.get(column.key)
        grid.add_column(heading, justify=side, vertical="top", no_wrap=kept, overflow="fold", width=width)
    for row in part.listed.iter_rows(named=True):
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


@show_part.register
def _(part: Caution, console: Console) -> None:
    console.print()
    console.print(_text(part.text, MUTED).append(_source(part.source)))


@show_part.register
def _(part: Section, console: Console) -> None:
    if _only_charts(part):
        return
    console.print()
    _write(console, part.title, "bold")
    for inner in (*((part.aside,) if part.aside else ()), *readable(part.parts)):
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

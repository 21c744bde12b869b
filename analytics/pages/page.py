"""A page as data: the answer as a sentence, what the reader may choose, and parts that every renderer shows alike.

Shares stay shares (0.071), numbers stay numbers: the renderers write them, all by the same rules.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

import polars as pl

from analytics.contract import units
from analytics.pages.form import Form, Search
from analytics.pages.sheet import Blanks, Steps
from analytics.pages.upload import Upload

if TYPE_CHECKING:
    from analytics.charts.plot import Plot  # slow to import, and most commands draw nothing

Kind = Literal["text", "number", "percent", "money", "date", "action", "range", "size"]
"""How a value is written. A percent is a share from 0 to 1, an action one of the contract's, a range low to high.

A size, of a figure, is a length to be measured off.
"""
Tone = Literal["plain", "strong", "muted", "stop"]
"""A stop keeps somebody from the work: on paper framed, at a size that nothing makes smaller."""
Paper = Literal["a4", "letter"]
Said = Mapping[str, str]
"""What the reader has chosen, by the choice's key: the address on the screen, empty in the terminal."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few options, in words; ``options`` maps the value a page works with to the words a reader sees."""

    key: str
    label: str
    options: Mapping[str, str]
    default: str

    def of(self, said: Said) -> str:
        """The value chosen, given as value or as words; the default where nothing or something unknown is said."""
        given = said.get(self.key, self.default)
        value = {words: value for value, words in self.options.items()}.get(given, given)
        return value if value in self.options else self.default


def three_figures(value: float) -> float:
    """A number to three figures."""
    return float(f"{value:.3g}")


@dataclass(frozen=True, slots=True)
class TypedNumber:
    """A number the reader types, within ``least`` and ``most``, in ``unit``; ``default`` None leaves it blank.

    All in SI; it is typed, and stands in the address, in the reader's units. A page says what it does not take.
    """

    key: str
    label: str
    default: float | None
    least: float
    most: float
    unit: str = ""

    def shown(self) -> "TypedNumber":
        """The same in the reader's units, to three figures."""
        if (told := units.conversion(self.unit)) is None:
            return self
        default = None if self.default is None else three_figures(told.of(self.default))
        least, most = three_figures(told.of(self.least)), three_figures(told.of(self.most))
        return replace(self, default=default, least=least, most=most, unit=told.unit)


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs, a blank line between them; plain text. ``links``: words of it, each with the path of a page."""

    text: str
    tone: Tone = "plain"
    links: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """One estimate with what belongs to it. ``value`` None: ``note`` says how many more would do."""

    label: str
    value: float | Decimal | date | str | None
    low: float | Decimal | None = None
    high: float | Decimal | None = None
    count: str = ""
    kind: Kind = "number"
    unit: str = ""
    digits: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures one under the other: label, value with its interval, count, note."""

    rows: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table, by the frame's column ``key``.

    ``low`` and ``high`` name the columns of its interval, shown beneath it (a range shows them alone, its key may be
    any); ``under`` names a column shown muted beneath. ``unit`` is the currency of money. ``digits`` None: as many as
    the column needs. ``help`` defines a word that is not plain. ``link`` is a page's path, with choices of its own
    or none (``crews?months=12``): the cell links there with the column's key and value in the address.
    """

    key: str
    label: str
    kind: Kind = "text"
    unit: str = ""
    help: str = ""
    low: str = ""
    high: str = ""
    under: str = ""
    digits: int | None = None
    link: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """``rows``, the first ``most`` laid out, ``whole`` on a phone too; ``title`` names them, ``empty`` is for none."""

    columns: tuple[Column, ...]
    rows: pl.DataFrame
    title: str
    note: str = ""
    empty: str = "Nothing to list."
    most: int | None = None
    whole: bool = False

    @property
    def listed(self) -> pl.DataFrame:
        """The rows that are laid out."""
        return self.rows[: self.most]


@dataclass(frozen=True, slots=True)
class Chart:
    """One plot, or several side by side on the same axes; ``alt`` says it in a sentence.

    ``picks`` are columns of the plots' data: a click on a mark or its words puts their values of it in the address,
    as a table's link does.
    """

    plots: "tuple[Plot, ...]"
    alt: str
    note: str = ""
    picks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG drawing of ours; ``alt`` says it in a sentence."""

    svg: str
    alt: str


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """One reason: the sentence, how much it weighs (``× 1.8``), what to do about it, its source and its action."""

    text: str
    effect: str = ""
    do: str = ""
    source: str = ""
    action: str = ""


@dataclass(frozen=True, slots=True)
class Reasons:
    """Reasons under a heading, largest first."""

    title: str
    rows: tuple[ReasonLine, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """What the page must not be taken for, with its source."""

    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Download:
    """A file the reader may take away, made only when asked.

    ``document`` gives what becomes a .pdf or .html by ``file_name``'s ending, or the file's own bytes; ``holds`` are
    the pages, by path, that must be open to whom it is offered.
    """

    label: str
    file_name: str
    document: "Callable[[], Document | bytes]" = field(compare=False)
    paper: "Paper" = "a4"
    holds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Downloads:
    """Files side by side."""

    rows: tuple[Download, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """Parts under a heading of their own; ``aside`` stands beside them where there is room, else before them.

    ``holds`` are the pages, by path, that must be open to whom it is shown.
    """

    title: str
    parts: "tuple[Part, ...]"
    aside: Drawing | None = None
    holds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Folded:
    """Parts folded away under words that say what for; on the screen only, as what is in them is to be done there.

    ``on_a_phone``: there only; where there is room, on paper and in the terminal they stand as if not folded.
    """

    title: str
    parts: "tuple[Part, ...]"
    on_a_phone: bool = False


Part = (
    Words
    | Figures
    | Table
    | Chart
    | Drawing
    | Reasons
    | Caution
    | Steps
    | Blanks
    | Downloads
    | Section
    | Form
    | Folded
    | Upload
)


@dataclass(frozen=True, slots=True)
class Page:
    """The answer to one question.

    ``answer`` is the opening sentence. ``worked_out`` is Markdown, folded away. ``wanting`` says what it would take
    where there is too little to go on. ``apart``: the same on more pages, in place of one too small to read on a sheet.
    """

    answer: str
    parts: tuple[Part, ...] = ()
    choices: tuple[Choice | TypedNumber | Search, ...] = ()
    worked_out: str = ""
    wanting: str = ""
    apart: "tuple[Page, ...]" = ()


@dataclass(frozen=True, slots=True)
class Document:
    """Pages for paper, each from the top of a sheet of its own; ``about`` is a quiet line on every sheet.

    ``as_of``: the day the records reach. ``one_sheet``: a page is set smaller, while it can be read, to stay on one.
    """

    title: str
    pages: tuple[Page, ...]
    about: str = ""
    as_of: date | None = None
    one_sheet: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """A page's path and name, what builds it from the choices, and the ``state`` of what it is then built from."""

    path: str
    title: str
    build: Callable[[Said], Page] = field(compare=False)
    state: Callable[[], object] = field(default=str, compare=False)

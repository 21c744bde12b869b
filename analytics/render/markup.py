"""Parts of a page as HTML. Every value goes through ``html.escape``; nothing of the records is ever markup."""

import re
from base64 import b64encode
from collections import Counter
from collections.abc import Mapping, Sequence
from html import escape
from urllib.parse import urlencode

from analytics.charts.palette import ENGINEER
from analytics.contract import units, words
from analytics.pages.page import Caution, Column, Drawing, Figures, ReasonLine, Reasons, Table, Words
from analytics.pages.sheet import Blanks, Steps
from analytics.render.cells import (
    Cell,
    Row,
    cell,
    column_label,
    digits_of,
    figure,
    half_columns,
    right_columns,
    source_said,
    wide_columns,
)

_WHOLE = re.compile(r"(?<![\w-])(?=[\w-]{3,20}(?![\w-]))(?:--[a-z][a-z-]*|\w+(?:-\w+)*-\d[\w-]*)")
"""A command's option or a number with hyphens, short enough for a line on a phone."""
_MARKS = re.compile(r"[\\`*_{}\[\]()<>#+!|~$:-]")
_FOLDS_FROM, _FIRST_ROWS = 10, 6
"""A table of so many rows and more shows the first on a phone, and the rest when asked to."""


def label(text: str) -> str:
    """A label that Streamlit reads as Markdown, with every mark in it standing for itself."""
    return _MARKS.sub(r"\\\g<0>", text)


def answer(text: str) -> str:
    """The page's opening sentence, its main heading."""
    return f'<h1 class="lb-answer">{_prose(text)}</h1>'


def here(title: str, path: str) -> str:
    """The link to the page that is open, back to it as it opens."""
    return f'<a class="lb-here" href="./{_escaped(path)}" aria-current="page">{_escaped(title)}</a>'


def heading(text: str) -> str:
    """A section's heading."""
    return f'<h2 class="lb-heading">{_escaped(text)}</h2>'


def subheading(text: str) -> str:
    """A heading within a section."""
    return f'<h3 class="lb-subheading">{_escaped(text)}</h3>'


def fold(title: str) -> str:
    """The words that open what a phone folds away."""
    return f'<details class="lb-fold"><summary><span>{_prose(title)}</span></summary></details>'


def done(text: str, link: str) -> str:
    """What was just recorded, announced to who cannot see it; ``link`` is its address, where it has one."""
    opened = f' <a href="{_escaped(link)}">Open it</a>' if link else ""
    return f'<p class="lb-done" role="status">{_prose(text)}{opened}</p>'


def refusal(text: str) -> str:
    """Why something was not recorded, announced at once."""
    return f'<p class="lb-refusal" role="alert">{_prose(text)}</p>'


def progress(names: Sequence[str], current: int) -> str:
    """Numbered steps in a line, the ``current`` one, from 1, standing out."""
    steps = "".join(
        f"<li{' aria-current=step' if place == current else ''}>{_escaped(name)}</li>"
        for place, name in enumerate(names, 1)
    )
    return f'<ol class="lb-progress">{steps}</ol>'


def paragraphs(given: Words) -> str:
    """Paragraphs, a blank line between them in the text; words that name a page link there."""
    blocks = (block.strip() for block in given.text.split("\n\n"))
    tone = "strong" if given.tone == "stop" else given.tone
    return "".join(f'<p class="lb-words lb-{tone}">{_linked(block, given.links)}</p>' for block in blocks if block)


def _linked(text: str, links: Sequence[tuple[str, str]]) -> str:
    """Words, those that name a page as a link; each link is looked for in what the one before has left."""
    for at, (said, path) in enumerate(links):
        before, found, after = text.partition(said)
        if found:
            link = f'<a href="{_escaped(path)}">{_escaped(said)}</a>'
            return f"{_linked(before, links[at + 1 :])}{link}{_linked(after, links[at + 1 :])}"
    return _prose(text)


def note(text: str, *, on_screen: str = "") -> str:
    """A quiet line, empty where there is nothing to say; what is said ``on_screen`` only is not printed."""
    hint = f'<span class="lb-on-screen">{_prose(on_screen)}</span>' if on_screen else ""
    said = " ".join(filter(None, (_prose(text), hint)))
    return f'<p class="lb-note">{said}</p>' if said else ""


def caution(given: Caution) -> str:
    """What the page must not be taken for, with its source."""
    return f'<p class="lb-caution" role="note">{_prose(given.text)}{_source(given.source)}</p>'


def figures(given: Figures) -> str:
    """Figures as a list of terms and values."""
    rows = []
    for row in given.rows:
        quiet = ", ".join(text for text in (row.count, row.note) if text)
        beside = f'<span class="lb-quiet">{_prose(quiet)}</span>' if quiet else ""
        rows.append(f"<div><dt>{_escaped(row.label)}</dt><dd><b>{_escaped(figure(row))}</b>{beside}</dd></div>")
    return f'<dl class="lb-figures">{"".join(rows)}</dl>'


def reasons(given: Reasons) -> str:
    """Reasons as a list under a heading."""
    lines = "".join(_reason(line) for line in given.rows)
    return f'<h3 class="lb-subheading">{_escaped(given.title)}</h3><ul class="lb-reasons">{lines}</ul>'


def steps(given: Steps) -> str:
    """Steps as a numbered list under a heading."""
    lines = "".join(f"<li>{_prose(row.text)}{_source(row.source)}</li>" for row in given.rows)
    return f'<h3 class="lb-subheading">{_escaped(given.title)}</h3><ol class="lb-steps">{lines}</ol>{note(given.note)}'


def blanks(given: Blanks) -> str:
    """Boxes to be filled in by hand, as a table with empty cells."""
    corner = '<td class="lb-empty"></td>' if given.rows else ""
    named = [(blank.label, units.shown_unit(blank.unit)) for blank in given.fields]
    labels = [_escaped(f"{label}, {unit}" if unit else label) for label, unit in named]
    head = corner + "".join(f'<th scope="col">{label}</th>' for label in labels)
    marks = ["☐" if blank.tick else "" for blank in given.fields]
    cells = "".join(f'<td data-label="{label}">{mark}</td>' for label, mark in zip(labels, marks, strict=True))
    names = [f'<th scope="row">{_escaped(row)}</th>' for row in given.rows] or [""]
    rows = "".join(f"<tr>{name}{cells}</tr>" for name in names)
    title = _escaped(given.title)
    return (
        f'<h3 class="lb-subheading">{title}</h3><table class="lb-blanks" aria-label="{title}">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    )


def drawing(given: Drawing) -> str:
    """A drawing as an image that carries its text alternative."""
    data = b64encode(given.svg.encode()).decode()
    return f'<img class="lb-drawing" alt="{_escaped(given.alt)}" src="data:image/svg+xml;base64,{data}">'


def table(given: Table, *, folds: bool = False) -> str:
    """A real table; roles are spelled out because on a phone its rows are laid out as blocks.

    One that ``folds`` shows the first of many rows there, and every row of an engineer's; the others when asked to;
    all of one that is to stand ``whole``.
    """
    if given.listed.is_empty():
        return note(given.empty)
    folded = _folded(given) if folds and not given.whole else {}
    digits = digits_of(given)
    fits = dict.fromkeys(half_columns(given, digits), "lb-half") | dict.fromkeys(wide_columns(given), "lb-wide")
    right = right_columns(given)
    head = "".join(_head(column, right) for column in given.columns)
    rows = (
        "".join(_data(column, row, digits.get(column.key, 0), fits, right) for column in given.columns)
        for row in given.listed.iter_rows(named=True)
    )
    body = "".join(
        f'<tr role="row"{" class=lb-rest" if place in folded else ""}>{row}</tr>' for place, row in enumerate(rows)
    )
    return (
        f'<div class="lb-panel"><table class="lb-table" role="table" aria-label="{_escaped(given.title)}">'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table>'
        f"{_more(folded)}</div>{note(given.note)}"
    )


def _folded(given: Table) -> Mapping[int, Sequence[str]]:
    """Places of the rows that a phone folds away, each with the words of what it needs; none of an engineer's."""
    if given.listed.height < _FOLDS_FROM:
        return {}
    acts = [column for column in given.columns if column.kind == "action"]
    rows = enumerate(given.listed.iter_rows(named=True))
    needs = {place: [cell(column, row).action for column in acts] for place, row in rows if place >= _FIRST_ROWS}
    return {
        place: [each.word for each in marks if each]
        for place, marks in needs.items()
        if not any(each and each.role == ENGINEER for each in marks)
    }


def _more(folded: Mapping[int, Sequence[str]]) -> str:
    """What opens the rows folded away, and says how many they are, and of which action."""
    if not folded:
        return ""
    of = Counter(word for each in folded.values() for word in each)
    needing = ", ".join(f"{words.number(count)} {word}" for word, count in of.items())
    said = f"Show {words.number(len(folded))} more{f': {needing}' if needing else ''}"
    return (
        f'<details class="lb-more"><summary><span class="lb-shut">{_escaped(said)}</span>'
        '<span class="lb-open">Show fewer</span></summary></details>'
    )


def _escaped(text: str) -> str:
    return escape(units.in_text(text), quote=True)


def _prose(text: str) -> str:
    """Running text, in which neither a command's option nor a job's number is broken after its hyphens."""
    return _kept_whole(_escaped(text))


def _source(source: str) -> str:
    said = _kept_whole(escape(source_said(source), quote=True))
    return f' <span class="lb-source">{said}</span>' if source else ""


def _kept_whole(html: str) -> str:
    return _WHOLE.sub(r'<span class="lb-whole">\g<0></span>', html)


def _reason(line: ReasonLine) -> str:
    effect = f' <b class="lb-effect">{_escaped(line.effect)}</b>' if line.effect else ""
    do = f'<span class="lb-do">{_prose(line.do)}</span>' if line.do else ""
    role = f' class="lb-{_escaped(line.action)}"' if line.action else ""
    return f"<li{role}>{_prose(line.text)}{effect}{do}{_source(line.source)}</li>"


def _head(column: Column, right: frozenset[str]) -> str:
    label = _escaped(column_label(column))
    if column.help:
        tip = f'<span class="lb-tip" role="tooltip">{_escaped(column.help)}</span>'
        label = f'<span class="lb-help" tabindex="0">{label}{tip}</span>'
    return f'<th role="columnheader" scope="col" class="{_side(column, right)}">{label}</th>'


def _data(column: Column, row: Row, digits: int, fits: Mapping[str, str], right: frozenset[str]) -> str:
    shown = cell(column, row, digits)
    marks = (_side(column, right), f"lb-{column.kind}", fits.get(column.key, ""), "" if shown.main else "lb-empty")
    under = f'<span class="lb-under">{_escaped(shown.under)}</span>' if shown.under else ""
    label = _escaped(column_label(column))
    inside = f"<span>{_main(column, row, shown)}{under}</span>"
    return f'<td role="cell" class="{" ".join(filter(None, marks))}" data-label="{label}">{inside}</td>'


def _main(column: Column, row: Row, shown: Cell) -> str:
    if shown.action is not None:
        mark = f'<span aria-hidden="true">{shown.action.mark}</span> ' if shown.action.mark else ""
        return f'<b class="lb-mark lb-{shown.action.role}">{mark}{_escaped(shown.action.word)}</b>'
    text = _escaped(shown.main)
    value = row.get(column.key)
    if not column.link or value is None:
        return text
    joint = "&" if "?" in column.link else "?"
    address = f"{column.link}{joint}{urlencode({column.key: str(value)})}"
    return f'<a href="{_escaped(address)}">{text}</a>'


def _side(column: Column, right: frozenset[str]) -> str:
    return "lb-right" if column.key in right else "lb-left"

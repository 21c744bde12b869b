"""Pages as a PDF. Typst sets them by ``typeset.typ``; the pages go in as data, so no word of theirs is ever markup."""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from functools import cache, singledispatch
from pathlib import Path
from typing import Any

import typst

from analytics.charts.palette import COLOURS
from analytics.contract import units, words
from analytics.pages.page import (
    Caution,
    Chart,
    Column,
    Document,
    Drawing,
    Figures,
    Page,
    Paper,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blanks, Steps
from analytics.pages.within import readable
from analytics.render.cells import Cell, cell, column_label, digits_of, figure, right_columns, source_said, wide_columns
from analytics.render.method import paragraphs
from analytics.render.pictures import FONT, chart_pictures, drawing_svg, font_folder

PAPERS: Mapping[Paper, str] = {"a4": "a4", "letter": "us-letter"}
Laid = dict[str, Any]


def pdf(document: Document, paper: Paper = "a4") -> bytes:
    """The document as a PDF whose text can be selected; the same bytes for the same pages."""
    return typst.compile(
        template(),
        format="pdf",
        font_paths=fonts(),
        ignore_system_fonts=True,
        sys_inputs=inputs(document, paper),
        pdf_standards="ua-1",  # tagged, with text alternatives, so that the file can be read aloud
        timestamp=datetime.combine(document.as_of or date.min.replace(year=2000), time(), UTC),
    )


def inputs(document: Document, paper: Paper = "a4") -> dict[str, str]:
    """What the template is given: the document as data."""
    laid = {
        "paper": PAPERS[paper],
        "title": words.text(document.title),
        "about": words.text(document.about),
        "one_sheet": document.one_sheet,
        "font": FONT,
        "colours": {role: colour.light for role, colour in COLOURS.items()},
        "pages": [page(each) for each in document.pages],
    }
    return {"document": json.dumps(laid)}


def page(given: Page) -> Laid:
    """One page as data for the template."""
    return {
        "answer": words.text(given.answer),
        "wanting": words.text(given.wanting),
        "parts": [lay(part) for part in readable(given.parts)],
        "apart": [page(each) for each in given.apart],
        "worked_out": [[list(run) for run in paragraph] for paragraph in paragraphs(given.worked_out)],
    }


@singledispatch
def lay(part: object) -> Laid:
    """One part as data for the template."""
    raise TypeError(f"paper cannot show {type(part).__name__}")


@lay.register
def _(part: Words) -> Laid:
    blocks = [words.text(block.strip()) for block in part.text.split("\n\n")]
    return {"kind": "words", "tone": part.tone, "paragraphs": [block for block in blocks if block]}


@lay.register
def _(part: Figures) -> Laid:
    return {
        "kind": "figures",
        "rows": [
            {
                "label": words.text(row.label),
                "value": words.text(figure(row)),
                "quiet": words.text(", ".join(text for text in (row.count, row.note) if text)),
            }
            for row in part.rows
        ],
    }


@lay.register
def _(part: Table) -> Laid:
    digits, wide, right = digits_of(part), wide_columns(part), right_columns(part)
    return {
        "kind": "table",
        "title": words.text(part.title),
        "note": words.text(part.note),
        "empty": words.text(part.empty),
        "columns": [_head(column, wide, right) for column in part.columns],
        "rows": [
            [_cell(cell(column, row, digits.get(column.key, 0))) for column in part.columns]
            for row in part.listed.iter_rows(named=True)
        ],
    }


@lay.register
def _(part: Chart) -> Laid:
    alt = words.text(part.alt)
    return {"kind": "chart", "pictures": chart_pictures(part), "alt": alt, "note": words.text(part.note)}


@lay.register
def _(part: Drawing) -> Laid:
    return {"kind": "drawing", "svg": drawing_svg(part.svg), "alt": words.text(part.alt)}


@lay.register
def _(part: Reasons) -> Laid:
    keys = ("effect", "do", "action")
    rows = [
        {key: words.text(getattr(row, key)) for key in keys}
        | {"text": words.text(_before_what_to_do(row)), "source": source_said(row.source)}
        for row in part.rows
    ]
    return {"kind": "reasons", "title": words.text(part.title), "rows": rows}


def _before_what_to_do(row: ReasonLine) -> str:
    """The reason, ended where what to do follows it on the same line."""
    return f"{row.text}." if row.do and not row.effect and not row.text.endswith((".", "!", "?")) else row.text


@lay.register
def _(part: Caution) -> Laid:
    return {"kind": "caution", "text": words.text(part.text), "source": source_said(part.source)}


@lay.register
def _(part: Steps) -> Laid:
    rows = [{"text": words.text(row.text), "source": source_said(row.source)} for row in part.rows]
    return {"kind": "steps", "title": words.text(part.title), "rows": rows, "note": words.text(part.note)}


@lay.register
def _(part: Blanks) -> Laid:
    fields = [
        {
            "label": words.text(blank.label),
            "unit": words.text(units.shown_unit(blank.unit)),
            "tick": blank.tick,
            "wide": blank.wide,
        }
        for blank in part.fields
    ]
    return {
        "kind": "blanks",
        "title": words.text(part.title),
        "fields": fields,
        "rows": [words.text(row) for row in part.rows],
    }


@lay.register
def _(part: Section) -> Laid:
    return {
        "kind": "section",
        "title": words.text(part.title),
        "aside": lay(part.aside) if part.aside else None,
        "parts": [lay(inner) for inner in readable(part.parts)],
    }


def _head(column: Column, wide: frozenset[str], right: frozenset[str]) -> Laid:
    label = words.text(column_label(column))
    return {"label": label, "right": column.key in right, "wide": column.key in wide}


def _cell(shown: Cell) -> Laid:
    role = shown.action.role if shown.action else ""
    return {"main": words.text(shown.main), "under": words.text(shown.under), "role": role}


@cache
def template() -> bytes:
    """How paper looks."""
    return Path(__file__).with_name("typeset.typ").read_bytes()


@cache
def fonts() -> typst.Fonts:
    """The shipped font and, for signs it lacks, those inside Typst; nothing of the computer's own."""
    return typst.Fonts(include_system_fonts=False, font_paths=[font_folder()])

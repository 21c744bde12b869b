"""Every page in both systems of units: the same records, each figure converted once, no metric word left over."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import polars as pl
import pytest
from rich.console import Console

from analytics.answers.records import Records
from analytics.contract import units
from analytics.contract.rules import RULES
from analytics.contract.words import THIN
from analytics.pages import upcoming
from analytics.pages.page import Caution, Figure, Figures, Page, ReasonLine, Reasons, Table
from analytics.pages.questions import PAGES
from analytics.pages.sheet import Steps
from analytics.pages.within import every_part
from analytics.render import markup
from analytics.render.cells import cell, column_label, digits_of, figure, source_said
from analytics.render.terminal import show
from analytics.render.typeset import lay

# NIST Special Publication 811, Appendix B.8 and NIST Handbook 44, Appendix C: exact
FACTORS = {
    "m": ("ft", 1 / 0.3048),
    "mm": ("in", 1 / 25.4),
    "L": ("gal", 1 / 3.785411784),
    "L/m": ("gal/ft", 0.3048 / 3.785411784),
    "min/m": ("min/ft", 0.3048),
    "USD/m": ("USD/ft", 0.3048),
}
METRIC_LEFT = re.compile(r"\d[ \u202f](?:mm|m|L|L/m|min/m|USD/m)(?![\w/²³])(?! \([^()]*(?:\bin|\bft|°F)\))")


def written(console_width: int, page: Page) -> str:
    console = Console(width=console_width, record=True, file=None, quiet=False, highlight=False)
    with console.capture() as said:
        show(page, console)
    return said.get()


def sources(page: Page) -> Iterator[str]:
    """What stands on a page of where its rules come from: quoted, not converted."""
    for part in every_part(page.parts):
        if isinstance(part, Caution):
            yield source_said(part.source)
        elif isinstance(part, Reasons | Steps):
            yield from (source_said(row.source) for row in part.rows)


def number(text: str) -> float:
    return float(re.sub(r"[\u202f ]", "", text).replace("\u2212", "-"))


OPENED = {"a planned job": upcoming.PATH, "a quote": "quote"}
"""Pages as they are opened on something: their names here, and their paths."""


@pytest.fixture(scope="module")
def pages(demo_store: Path) -> dict[str, Page]:
    """Every page as built for a reader of US units, its parts still SI."""
    records = Records.of(demo_store)
    job = records.ask("planned_cracks").filter(pl.col("width_mm") >= 3).row(0, named=True)["job_id"]
    said: dict[str, dict[str, str]] = {
        "a planned job": {"job_id": job},
        "a quote": {"width_mm": "0.2", "length_m": "9"},
    }
    with units.displayed("us"):
        found = {path: build(records, {}) for path, (_, build) in PAGES.items()}
        return found | {name: PAGES[path][1](records, said[name]) for name, path in OPENED.items()}


def figures(pages: dict[str, Page]) -> Iterator[Figure]:
    for page in pages.values():
        for part in every_part(page.parts):
            if isinstance(part, Figures):
                yield from part.rows


def test_figures_are_the_si_value_times_the_published_factor(pages: dict[str, Page]) -> None:
    checked = set()
    for given in figures(pages):
        if given.unit not in FACTORS or not isinstance(given.value, float) or given.kind != "number":
            continue
        unit, factor = FACTORS[given.unit]
        with units.displayed("us"):
            shown = figure(given)
        value, _, rest = shown.partition(f"\u202f{unit}")
        digits = len(value.partition(".")[2])
        assert number(value) == pytest.approx(given.value * factor, abs=0.51 * 10**-digits), given.label
        assert rest == "" or rest.startswith(" (")
        assert figure(given).partition("\u202f")[2].startswith(given.unit)
        checked.add(given.unit)
    assert {"L/m", "min/m"} <= checked


def test_columns_are_the_si_value_times_the_published_factor(pages: dict[str, Page]) -> None:
    checked = set()
    for page in pages.values():
        for part in every_part(page.parts):
            if not isinstance(part, Table) or part.rows.is_empty():
                continue
            for column in part.columns:
                if column.unit not in FACTORS or column.kind != "number":
                    continue
                unit, factor = FACTORS[column.unit]
                row = next((row for row in part.rows.to_dicts() if row[column.key] is not None), None)
                if row is None:
                    continue
                assert column_label(column).endswith(f", {column.unit}")
                with units.displayed("us"):
                    shown = cell(column, row, digits_of(part)[column.key]).main
                    assert column_label(column).endswith(f", {unit}")
                digits = len(shown.partition(".")[2])
                assert number(shown) == pytest.approx(row[column.key] * factor, abs=0.51 * 10**-digits), column.label
                checked.add(column.unit)
    assert "USD/m" in checked


@pytest.mark.parametrize("path", [*PAGES, *OPENED])
def test_no_metric_figure_is_left_where_the_reader_wants_us_units(pages: dict[str, Page], path: str) -> None:
    with units.displayed("us"):
        text = re.sub(r"\s+", " ", written(2000, pages[path])).replace("\u202f", " ")
        html = "".join(
            re.sub(r"<[^>]+>", " ", markup.table(part))
            for part in every_part(pages[path].parts)
            if isinstance(part, Table)
        )
    for source in sources(pages[path]):
        text = text.replace(source, "")
    assert not METRIC_LEFT.findall(text)
    assert not METRIC_LEFT.findall(html)


def test_a_source_is_quoted_in_its_own_units() -> None:
    said = "BRE Digest 251, categories < 0.1 mm"
    source = next(rule.source for rule in RULES.values() if said in rule.source)
    held = Reasons("Why", (ReasonLine("5 mm wide", source=source),))
    with units.displayed("us"):
        shown = [unescape(markup.reasons(held)), written(2000, Page("", (held,))), str(lay(held))]
    assert all(said in text and f"0.197{THIN}in wide" in text.replace("\\u202f", THIN) for text in shown), shown


def test_a_typed_measurement_is_read_in_the_readers_unit(pages: dict[str, Page]) -> None:
    # 0.2 in is 5.08 mm, 9 ft is 2.7432 m, and the 8 in the wall opens with 203.2 mm (exact)
    found = {row.label: row.value for row in figures({"quote": pages["a quote"]})}
    assert found["void to fill"] == pytest.approx(5.08 * 203.2 * 2.7432 / 1000, rel=1e-3)


def test_metric_pages_hold_no_us_figure(demo_store: Path) -> None:
    page = PAGES["prices"][1](Records.of(demo_store), {})
    assert METRIC_LEFT.search(written(200, page))
    assert not re.search(r"\d[ \u202f](ft|in|gal|USD/ft)\b", written(200, page))

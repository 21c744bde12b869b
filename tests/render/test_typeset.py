"""Paper as a PDF: what goes into it, that nothing in it is markup, and that nothing is cut off or too much."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import typst

from analytics.pages.page import (
    Caution,
    Chart,
    Column,
    Document,
    Download,
    Downloads,
    Drawing,
    Figure,
    Figures,
    Page,
    Paper,
    ReasonLine,
    Reasons,
    Section,
    Table,
    Words,
)
from analytics.pages.sheet import Blank, Blanks, Step, Steps
from analytics.render import typeset

ATTACK = r'#panic("run") $x$ [y] *z* _u_ \ "q" `r` <l> @m #{1+1} //n https://o.example'
LONG = "J-" + "ABCDEFGHJKLMNPQRSTUVWXYZ23456789" * 2
SIGNS = "◆ ▲ ○ – × ° ≥ µg/m³ é 1\u202f234"


def sheets(document: Document, paper: Paper = "a4") -> int:
    """Sheets of paper the document takes."""
    made: Any = typst.compile(
        typeset.template(),
        format="svg",
        font_paths=typeset.fonts(),
        ignore_system_fonts=True,
        sys_inputs=typeset.inputs(document, paper),
    )
    return len(made) if isinstance(made, list) else 1


def text_of(pdf: bytes, folder: Path) -> str:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine (Debian: apt-get install poppler-utils)")
    file = folder / "made.pdf"
    file.write_bytes(pdf)
    command = ["pdftotext", "-layout", str(file), "-"]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def one(*parts: Any, answer: str = "Answer.", one_sheet: bool = False) -> Document:
    return Document("Made up", (Page(answer, parts),), one_sheet=one_sheet)


def every_part(words: str) -> tuple[Any, ...]:
    return (
        Words(words),
        Figures((Figure(words, words, kind="text", count=words, note=words),)),
        Table((Column("a", words),), pl.DataFrame({"a": [words]}), title=words, note=words),
        Reasons(words, (ReasonLine(words, words, words, words, words),)),
        Caution(words, words),
        Steps(words, (Step(words, words),), words),
        Blanks(words, (Blank(words, words), Blank(words, tick=True)), (words,)),
        Section(words, (Words(words),)),
    )


def test_every_part_is_on_paper(page: Page, tmp_path: Path) -> None:
    text = text_of(typeset.pdf(Document("Made up", (page,), "An invented business")), tmp_path)
    for said in ("J-3982", "◆ engineer first", "6 to 13", "Why it is flagged", "BRE Digest 251", "2.40", "1 of "):
        assert said in text
    assert "An invented business" in text
    assert "Formula: observed over expected." in text.replace("**", "")


def test_words_of_the_records_are_never_run(tmp_path: Path) -> None:
    pdf = typeset.pdf(one(*every_part(ATTACK), answer=ATTACK))
    assert ATTACK.split(maxsplit=1)[0] in text_of(pdf, tmp_path)
    assert "*z* _u_ \\" in text_of(pdf, tmp_path)


def test_the_words_go_in_as_data() -> None:
    given = typeset.inputs(one(*every_part(ATTACK)))
    assert ATTACK not in typeset.template().decode()
    assert json.loads(given["document"])["pages"][0]["parts"][0]["paragraphs"] == [ATTACK]


def test_signs_of_the_trade_can_be_set_and_selected(tmp_path: Path) -> None:
    text = text_of(typeset.pdf(one(Words(SIGNS))), tmp_path)
    assert all(sign in text for sign in SIGNS.replace("\u202f", " ").split())


def test_a_table_on_paper_is_the_screens_cells(planned: Table) -> None:
    laid = typeset.lay(planned)
    assert laid["rows"][0][-1] == {"main": "9\u202f%", "under": "6 to 13", "role": ""}
    assert laid["rows"][0][2] == {"main": "◆ engineer first", "under": "", "role": "engineer_review"}


def test_the_longest_names_are_wrapped_not_cut(tmp_path: Path) -> None:
    rows = pl.DataFrame({"job": [LONG] * 2, "crack": [LONG] * 2, "why": [f"{LONG} {LONG}"] * 2, "n": [1234, 2]})
    columns = (Column("job", "job"), Column("crack", "crack"), Column("why", "why"), Column("n", "number", "number"))
    text = text_of(typeset.pdf(one(Table(columns, rows, title="t"), answer=LONG)), tmp_path)
    letters = "".join(text.split())
    assert letters.count(LONG[:6]) >= 9
    pieces = [piece for line in text.splitlines() for piece in line.split() if piece in LONG]
    assert sum(map(len, pieces)) >= 9 * len(LONG)
    assert "1 234" in text.replace("\u202f", " ")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_page_that_must_stay_on_one_sheet_is_set_smaller(paper: Paper) -> None:
    words = tuple(Words(f"Line {number} of many, as long as a line of a sheet may be.") for number in range(62))
    assert sheets(one(*words), paper) == 2
    assert sheets(one(*words, one_sheet=True), paper) == 1


def heights(document: Document, folder: Path) -> dict[str, float]:
    """How high each word is set, in points."""
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine (Debian: apt-get install poppler-utils)")
    (folder / "made.pdf").write_bytes(typeset.pdf(document))
    command = ["pdftotext", "-bbox", str(folder / "made.pdf"), "-"]
    boxes = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found = re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(\w+)', boxes)
    return {word: float(bottom) - float(top) for top, bottom, word in found}


def test_what_stops_the_work_and_what_is_read_during_it_is_never_set_too_small(tmp_path: Path) -> None:
    said = (Words("Halt", "stop"), Steps("Do", (Step("Inject"),)), Caution("Ventilate"), Words("Else"))
    plain = heights(one(*said, one_sheet=True), tmp_path)
    crowded = heights(one(*said, *(Words(f"Line {number}.") for number in range(66)), one_sheet=True), tmp_path)
    assert crowded["Else"] < 0.8 * plain["Else"]
    assert crowded["Halt"] == pytest.approx(plain["Halt"], rel=0.01)
    assert crowded["Halt"] >= 1.19 * plain["Else"]  # 12 pt beside 10
    for word in ("Inject", "Ventilate"):
        assert crowded[word] == pytest.approx(0.9 * plain["Else"], rel=0.01)


def test_pages_apart_stand_in_for_one_that_could_only_be_set_too_small(tmp_path: Path) -> None:
    apart = (Page("Answer.", (Words("First"),)), Page("Answer.", (Words("Second"),)))
    for lines, count in ((20, 1), (75, 2)):
        whole = Page("Answer.", tuple(Words(f"Line {number}.") for number in range(lines)), apart=apart)
        document = Document("Made up", (whole,), one_sheet=True)
        assert sheets(document) == count
        assert ("Second" in text_of(typeset.pdf(document), tmp_path)) == (count == 2)


def crack(name: str, reasons: int = 1) -> Section:
    """What is said of one crack beside its drawing."""
    figures = Figures(tuple(Figure(f"measure {number}", number) for number in range(6)))
    why = Reasons("Why", tuple(ReasonLine(f"reason {number} of {name}") for number in range(reasons)))
    drawing = Drawing('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 56 50"/>', "drawn to scale")
    return Section(name, (figures, why), aside=drawing)


def test_what_is_said_of_a_crack_stays_on_the_sheet_of_its_drawing(tmp_path: Path) -> None:
    names = [f"K-{number}" for number in range(1, 6)]
    pages = text_of(typeset.pdf(one(*(crack(name, reasons=16) for name in names))), tmp_path).split("\f")
    assert len(pages) > 2
    for name in names:
        [page] = [page for page in pages if page.count(name) > 1]
        assert page.count(name) == 1 + 16


def test_a_crack_of_which_more_is_said_than_a_sheet_holds_runs_on(tmp_path: Path) -> None:
    text = text_of(typeset.pdf(one(crack("K-1", reasons=120))), tmp_path)
    assert all(f"reason {number} of K-1" in text for number in range(120))


def test_a_long_value_beside_a_drawing_is_on_one_line(tmp_path: Path) -> None:
    rows = (Figure("leak-back within 24 months", 0.154, 0.093, 0.25, kind="percent"), *crack("K-1").parts[0].rows)  # type: ignore[union-attr]
    section = replace(crack("K-1"), parts=(Figures(rows),))
    lines = text_of(typeset.pdf(one(section)), tmp_path).splitlines()
    assert any("leak-back within 24 months" in line and "(9.3 to 25.0)" in line for line in lines)


def test_figures_beside_a_drawing_stay_in_their_order(tmp_path: Path) -> None:
    long = Figure("a label far too long for half of the width", 7)
    short = [Figure(f"short {number}", number) for number in range(6)]
    section = replace(crack("K-1"), parts=(Figures((*short[:4], long, *short[4:])),))
    text = text_of(typeset.pdf(one(section)), tmp_path)
    assert text.index("short 3") < text.index(long.label) < text.index("short 4")


def test_what_cannot_fit_runs_on_and_is_not_cut() -> None:
    words = tuple(Words(f"Line {number}.") for number in range(200))
    assert sheets(one(*words, one_sheet=True)) > 1


def test_each_page_starts_a_sheet_and_sheets_are_counted_over_all_that_is_printed_together(tmp_path: Path) -> None:
    three = Document("Made up", (Page("One; sheet 1 of 2."), Page("Two."), Page("Three.")))
    assert sheets(three) == 3
    assert "page 2 of 3 printed together" in text_of(typeset.pdf(three), tmp_path)
    alone = text_of(typeset.pdf(one()), tmp_path)
    assert "page 1 of 1" in alone
    assert "together" not in alone


def test_words_that_lead_to_a_picture_stay_with_it_and_so_does_their_heading(page: Page, tmp_path: Path) -> None:
    [chart] = [part for part in page.parts if isinstance(part, Chart)]
    led = Section("A heading", (Words("What it shows."), replace(chart, note="Beneath the picture.")))
    moved = set()
    for lines in range(34, 52, 3):
        above = tuple(Words(f"Line {number}.") for number in range(lines))
        pages = text_of(typeset.pdf(one(*above, led)), tmp_path).split("\f")
        [at] = [place for place, said in enumerate(pages) if "Beneath the picture." in said]
        assert "A heading" in pages[at]
        assert "What it shows." in pages[at]
        moved.add(at)
    assert moved == {0, 1}


def test_the_same_pages_are_the_same_bytes() -> None:
    document = Document("Made up", (Page("One."),), as_of=date(2026, 10, 31))
    assert typeset.pdf(document) == typeset.pdf(document)
    assert typeset.pdf(document) != typeset.pdf(document, "letter")


def test_what_is_to_be_taken_away_is_not_on_paper() -> None:
    offered = Downloads((Download("Print", "a.pdf", lambda: Document("x", ())),))
    laid = typeset.page(Page("Answer.", (offered, Section("s", (offered,)))))
    assert [part["kind"] for part in laid["parts"]] == ["section"]
    assert laid["parts"][0]["parts"] == []


def test_an_unknown_part_is_our_mistake() -> None:
    with pytest.raises(TypeError, match="cannot show int"):
        typeset.lay(3)


def test_a_source_is_called_one_on_paper() -> None:
    caution = typeset.lay(Caution("A screening aid.", "a handbook"))
    steps = typeset.lay(Steps("Steps", (Step("First.", "a handbook"),)))
    reasons = typeset.lay(Reasons("Why", (ReasonLine("wide", source="a handbook"),)))
    assert [laid["source"] for laid in (caution, *steps["rows"], *reasons["rows"])] == ["Source: a handbook"] * 3
    assert typeset.lay(Caution("A screening aid."))["source"] == ""


def test_a_reason_ends_before_what_to_do_about_it() -> None:
    lines = (ReasonLine("wide", do="Ask."), ReasonLine("It is wide.", do="Ask."), ReasonLine("wide", "× 2"))
    assert [row["text"] for row in typeset.lay(Reasons("Why", lines))["rows"]] == ["wide.", "It is wide.", "wide"]

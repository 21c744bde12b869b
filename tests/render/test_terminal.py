import io

import polars as pl
import pytest
from rich.console import Console

from analytics.pages.page import Caution, Chart, Column, Page, ReasonLine, Reasons, Section, Table, Words
from analytics.pages.sheet import Step, Steps
from analytics.render import terminal


def written(page: Page, *, width: int = 80, is_terminal: bool = False, worked_out: bool = False) -> str:
    console = Console(
        file=io.StringIO(), width=width, force_terminal=is_terminal, color_system="truecolor" if is_terminal else None
    )
    terminal.show(page, console, worked_out=worked_out)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_the_answer_comes_first(page: Page) -> None:
    assert written(page).startswith("Of 60 planned cracks, 4 need an engineer first.\n")


def test_the_same_parts_are_said(page: Page) -> None:
    text = written(page)
    for said in (
        "J-3982",
        "◆ engineer first",
        "9\u202f% (6 to 13)",
        "7.1\u202f% (5.4 to 9.3)",
        "Why it is flagged",
        "BRE Digest 251",
    ):
        assert said in text


def test_a_drawing_is_said_in_words(page: Page) -> None:
    assert "Vertical crack, 2.40\u202fm long" in written(page)


def test_colour_only_on_a_terminal(page: Page) -> None:
    assert "\x1b[" in written(page, is_terminal=True)
    assert "\x1b" not in written(page)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_nothing_is_wider_than_the_terminal(page: Page, width: int) -> None:
    assert max(map(len, written(page, width=width).splitlines())) <= width


def test_a_job_number_is_never_broken(page: Page) -> None:
    assert "J-3982" in written(page, width=60)


@pytest.mark.parametrize("width", [60, 70, 80])
def test_no_end_of_an_interval_is_cut_off(width: int) -> None:
    names = ("cost", "floor", "target", "charged", "left")
    ends = {f"{name}_{end}": [value] for name in names for end, value in (("low", 129.0), ("high", 13200.0))}
    rows = pl.DataFrame({"what": ["an hour of labour at 80.50"]} | {name: [131.0] for name in names} | ends)
    money = [Column(name, name, kind="number", low=f"{name}_low", high=f"{name}_high", digits=0) for name in names]
    text = written(Page("x", parts=(Table((Column("what", "what"), *money), rows, "What if"),)), width=width)
    assert text.replace("\u202f", "").count("13200)") == len(names)


def test_the_method_is_folded_away(page: Page) -> None:
    assert "observed over expected" not in written(page)
    assert "observed over expected" in written(page, worked_out=True)


def test_a_section_of_charts_alone_is_skipped(page: Page) -> None:
    chart = next(part for part in page.parts if isinstance(part, Chart))
    assert written(Page("Answer.", (Section("Season by season", (chart,)),))) == "Answer.\n"


def test_words_of_the_records_are_not_instructions_to_the_terminal() -> None:
    assert "\x1b" not in written(Page("Answer.", (Words("J-1\x1b[2J [bold]x[/bold]"),)), is_terminal=False)
    assert "[bold]x[/bold]" in written(Page("Answer.", (Words("[bold]x[/bold]"),)))


def test_an_empty_table_says_so(planned: Table) -> None:
    assert "Nothing to list." in written(Page("Answer.", (Table(planned.columns, planned.rows.clear(), "t"),)))


def test_an_unknown_part_is_our_mistake() -> None:
    with pytest.raises(TypeError, match="cannot show int"):
        terminal.show_part(3, Console(file=io.StringIO()))


def test_a_source_is_set_apart_in_brackets() -> None:
    parts = (
        Caution("A screening aid.", "a handbook"),
        Caution("It knows nothing of cracks."),
        Steps("Steps", (Step("First.", "a handbook"),)),
        Reasons("Why", (ReasonLine("wide", source="a handbook"),)),
    )
    lines = [line.strip() for line in written(Page("Answer.", parts)).splitlines()]
    for said in ("A screening aid.", "1. First.", "- wide"):
        assert f"{said} (Source: a handbook)" in lines
    assert "It knows nothing of cracks." in lines


WHY = "waiting for the engineer since 7 October 2026; the temperature, direction and thickness are not recorded"


def crowded() -> Table:
    """A list that leaves its long text hardly any room at 80 letters."""
    rows = pl.DataFrame(
        {
            "crew": ["crew-323145", "crew-004711"],
            "job": ["2026-11-0045", "2026-11-0046"],
            "crack": ["2026-11-0045-1", "2026-11-0046-12"],
            "needs": ["engineer_review", "standard"],
            "why": [WHY, ""],
            "risk": [0.0471, 0.2],
            "low": [0.02, 0.12],
            "high": [0.11, 0.3],
        }
    )
    columns = (
        Column("crew", "crew"),
        Column("job", "job"),
        Column("crack", "crack"),
        Column("needs", "what it needs", kind="action"),
        Column("why", "why"),
        Column("risk", "leak-back in 24 months", kind="percent", low="low", high="high"),
    )
    return Table(columns, rows, "Planned cracks")


@pytest.mark.parametrize("width", [50, 60, 70, 80, 90, 100, 130])
def test_no_word_of_a_long_text_is_broken(width: int) -> None:
    lines = written(Page("x", (crowded(),)), width=width).splitlines()
    assert max(map(len, lines)) <= width
    pieces = [piece for line in lines for piece in line.split()]
    assert all(pieces.count(word) >= WHY.split().count(word) for word in WHY.split())
    assert width < 70 or {"2026-11-0045", "2026-11-0046-12", "crew-323145"} <= set(pieces)


def test_a_long_text_without_room_stands_beneath_its_row() -> None:
    lines = [line.rstrip() for line in written(Page("x", (crowded(),)), width=80).splitlines()]
    [first] = [place for place, line in enumerate(lines) if line.startswith("crew-323145")]
    [second] = [place for place, line in enumerate(lines) if line.startswith("crew-004711")]
    between = lines[first + 1 : second]
    label = next(place for place, line in enumerate(between) if line.startswith("  why: "))
    assert " ".join(" ".join(between[label:]).split()) == f"why: {WHY}"
    assert not [line for line in lines[second:] if "why" in line]
    risks = [line.rindex("%") for line in (lines[first], lines[second])]
    assert risks[0] == risks[1]


def test_a_text_shares_what_room_there_is_and_no_more() -> None:
    rows = pl.DataFrame({"job": ["J-1"], "why": ["a crack that is still growing"], "risk": [0.1]})
    table = Table((Column("job", "job"), Column("why", "why"), Column("risk", "risk", "percent")), rows, "Cracks")
    assert "J-1  a crack that is still growing  10.0\u202f%" in written(Page("x", (table,)), width=120)

"""Numbers stand right in every renderer, but for the first column, which names the row."""

import io
import re

import polars as pl
import pytest
from rich.console import Console

from analytics.pages.page import Column, Kind, Page, Table
from analytics.render import markup, terminal, typeset


def table(kind: Kind) -> Table:
    columns = (Column("age", "age, months", kind=kind), Column("cracks", "cracks", kind="number"))
    return Table(columns, pl.DataFrame({"age": [3, 120], "cracks": [7, 5995]}), "By age")


@pytest.mark.parametrize("kind", ["number", "text", "money"])
def test_the_first_column_stands_left_and_other_numbers_right(kind: Kind) -> None:
    given = table(kind)
    sides = re.findall(r'<t[hd][^>]*class="(lb-left|lb-right)', markup.table(given))
    assert sides == ["lb-left", "lb-right"] * 3
    laid = typeset.page(Page("Answer.", (given,)))["parts"][0]
    assert [column["right"] for column in laid["columns"]] == [False, True]


def test_so_it_is_in_the_terminal() -> None:
    file = io.StringIO()
    terminal.show(Page("Answer.", (table("number"),)), Console(file=file, width=60))
    [three] = [line for line in file.getvalue().splitlines() if re.search(r"\b3\b", line)]
    assert three.startswith("3 ")
    assert three.rstrip().endswith(" 7")

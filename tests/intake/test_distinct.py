"""What is worked out once a text is what would be worked out once a cell."""

from random import Random

import polars as pl
import pytest

from analytics.intake.distinct import come_again, spread, told_apart

WORDS = ["1", "2.5", "", " ", "x", None, "é"]


def test_each_cell_is_the_text_at_its_place() -> None:
    random = Random(5)  # noqa: S311 - a seed for tests
    cells = pl.Series("cells", random.choices(WORDS, k=500), dtype=pl.String)
    texts, places = told_apart(cells)
    assert sorted(texts) == sorted(word for word in WORDS if word is not None)
    assert texts.gather(places).equals(cells)


def test_what_is_wrong_with_a_text_is_wrong_with_every_cell_that_holds_it() -> None:
    cells = pl.Series(["a", "7", None, "b", "a"])
    texts, places = told_apart(cells)
    reasons = {place: f"{text} is no number" for place, text in enumerate(texts) if text != "7"}
    values, found = spread(texts.cast(pl.Int64, strict=False), reasons, places)
    assert values.to_list() == [None, 7, None, None, None]
    assert found == {0: "a is no number", 3: "b is no number", 4: "a is no number"}


def test_a_column_of_nothing_holds_nothing() -> None:
    cells = pl.Series([None, None], dtype=pl.String)
    texts, places = told_apart(cells)
    assert texts.is_empty()
    assert spread(texts, {}, places)[0].to_list() == [None, None]


@pytest.mark.parametrize(
    ("cells", "again"),
    [
        ([f"J-{n}" for n in range(5000)], False),
        (["north", "south"] * 2500, True),
        (["north", "north"], True),
        (["J-1", "J-2", "J-3"], False),
        ([], True),
        ([*["J-0"] * 1000, *(f"J-{n}" for n in range(9000))], False),
        ([*(f"J-{n}" for n in range(1000)), *["north"] * 9000], True),
    ],
)
def test_keys_are_looked_at_row_by_row_and_words_once_each(cells: list[str], again: bool) -> None:
    assert come_again(pl.Series(cells, dtype=pl.String)) is again

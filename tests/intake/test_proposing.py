"""A first column map of a business's own sheet: what each header is taken for, and what is left to be said."""

from collections.abc import Mapping, Sequence

import polars as pl
import pytest

from analytics.intake.maps.proposing import Guess, SheetProposal, propose
from analytics.intake.sheet import Sheet

DAYS = [f"2026-09-{day:02}" for day in range(11, 17)]


def sheet(columns: Mapping[str, Sequence[str]], name: str = "september") -> Sheet:
    cells = pl.DataFrame({header: list(texts) for header, texts in columns.items()})
    numbers = pl.Series(range(2, cells.height + 2), dtype=pl.Int64)
    return Sheet((name,), f"{name}.csv", "0" * 64, cells.cast(pl.String), numbers)


def own(**columns: Sequence[str]) -> dict[str, Sequence[str]]:
    """Six jobs of one crack each; further columns by header, ``_`` for a space."""
    numbers = [str(5000 + place) for place in range(6)]
    given = {name.replace("_", " "): texts for name, texts in columns.items()}
    return {"Job #": numbers, "Date done": DAYS, "Crew": ["Mike"] * 6, "Type of resin": ["Epoxy"] * 6, **given}


def taken(proposal: SheetProposal) -> dict[str, Guess]:
    """The guesses that stand in the map, by our column; a crack's job apart."""
    return {f"{guess.table}.{guess.column}": guess for guess in proposal.guesses if guess.is_made}


def header_of(proposal: SheetProposal, column: str) -> str | None:
    return guess.origin.header if (guess := taken(proposal).get(column)) else None


MEASURING = ["Crack length", "Crack width", "Crack depth", "Crack size", "Max crack width", "Cracks", "# of cracks"]


@pytest.mark.parametrize("header", MEASURING)
def test_a_measurement_or_a_count_is_never_a_cracks_number(header: str) -> None:
    found = propose(sheet(own() | {header: ["8", "8.25", "8.5", "9", "10", "11"], "Hours": ["2"] * 6}))
    assert taken(found)["cracks.crack_id"].origin.template == "{Job #}-{#}"


def test_a_length_in_no_unit_is_the_length() -> None:
    found = propose(sheet(own(Crack_length=["8", "8.25", "8.5", "9", "10", "11"], Hours=["2"] * 6)))
    assert [guess.column for guess in found.guesses if guess.origin.header == "Crack length"] == ["length_m"]


def test_days_and_decimal_numbers_are_no_code_where_the_header_is_only_like_one() -> None:
    for texts in (DAYS, ["8", "8.25", "8.5", "9", "10", "11"], ["8'", "9'", "7'", "6'", "5'", "4'"]):
        found = propose(sheet(own() | {"Crack seen": texts, "Hours": ["2"] * 6}))
        assert header_of(found, "cracks.crack_id") is None


def test_what_does_number_the_cracks_is_taken() -> None:
    for header in ("Crack", "Crack #", "Our crack no", "Crack ref code"):
        found = propose(sheet(own() | {header: [f"{place}.1" for place in range(6)], "Hours": ["2"] * 6}))
        assert header_of(found, "cracks.crack_id") == header


def test_a_header_called_one_thing_word_for_word_is_not_taken_for_what_it_is_like() -> None:
    found = propose(sheet(own(Job_status=["done"] * 6, Hours=["2"] * 6)))
    assert header_of(found, "jobs.status") == "Job status"
    unknown = {"Job status": ["a", "b"], "Date done": DAYS[:2], "Crew": ["Mike"] * 2, "Price": ["1", "2"]}
    found = propose(sheet(unknown))
    assert header_of(found, "jobs.job_id") is None

"""The names of columns that stand in two rows: headings over groups of names, merged or with gaps."""

import pytest

from analytics.answers import mapping
from analytics.intake import Source
from analytics.intake.header import find_header, name_columns
from tests.intake.brought import csv_bytes

NAMES = ["Number", "Branch", "Length", "Width", "Wall", "Done", "Charged"]
ROW = ["1001", "North", "2.4", "0.5", "200", "2026-03-20", "650"]
MERGED = ["Job", "Job", "Crack", "Crack", "Crack", "When", "Money"]
SAVED_AS_TEXT = ["Job", "", "Crack", "", "", "When", "Money"]


@pytest.mark.parametrize("headings", [MERGED, SAVED_AS_TEXT])
def test_headings_over_groups_are_not_taken_for_the_names(headings: list[str]) -> None:
    head = [["Repairs", *[""] * 6], headings, NAMES, ROW]
    at = find_header(head, (), "book")
    assert name_columns(head, at, (), "book") == ["Job Number", *NAMES[1:]]


def test_many_headings_above_known_names_are_no_stray_cells() -> None:
    head = [["Job", "Job", "Crack", "Dates", "Money"], ["job_id", "branch", "length", "done_on", "price_charged"], ROW]
    assert find_header(head, ("job_id", "branch", "done_on"), "book") == 1


def test_a_row_of_words_beneath_full_names_is_a_row() -> None:
    head = [["job", "crew", "resin"], ["A", "Mike", "epoxy"], ["B", "Ann", "foam"]]
    assert find_header(head, (), "book") == 0


def test_a_row_with_numbers_beneath_names_with_gaps_is_a_row() -> None:
    head = [["job", "", "resin", ""], ROW[:4]]
    assert find_header(head, (), "book") == 0


WORDS = [["Miller", "north", "damp", "none"], ["Smith", "south", "damp", "none"]]
A_NUMBER = [*WORDS, ["Jones", "north", "2 spots", ""]]
NOTHING_TWICE = [WORDS[0], ["Jones", "", "dry", ""]]


@pytest.mark.parametrize("names", [["Customer", "Wall", "Note", "Note"], ["Customer", "Wall", "Water", ""]])
@pytest.mark.parametrize("rows", [WORDS, A_NUMBER, NOTHING_TWICE])
def test_a_row_of_words_beneath_names_with_gaps_or_twice_is_a_row(names: list[str], rows: list[list[str]]) -> None:
    assert find_header([names, *rows], (), "book") == 0


def test_a_name_beside_a_group_keeps_its_own_and_a_blank_takes_what_stands_above() -> None:
    head = [["Job", "", "Branch", "Dates", ""], ["No.", "Crew", "", "Date", "Called back"], ROW[:5]]
    assert name_columns(head, 1, (), "book") == ["Job No.", "Crew", "Branch", "Date", "Called back"]


def test_names_that_are_there_twice_take_their_group_where_the_merge_is_lost() -> None:
    head = [["Quoted", "", "Done", ""], ["Date", "Amount", "Date", "Amount"], ROW[:4]]
    assert name_columns(head, 1, (), "book") == ["Quoted Date", "Quoted Amount", "Done Date", "Done Amount"]


def test_a_title_above_lends_its_words_to_no_column() -> None:
    head = [["Repairs of the year", "", ""], ["No", "Crew", "Done"], ROW[:3]]
    assert name_columns(head, 1, (), "book") == ["No", "Crew", "Done"]


def test_a_jobs_number_beneath_its_heading_is_found() -> None:
    rows = [SAVED_AS_TEXT, NAMES, *([str(1001 + place), *ROW[1:]] for place in range(6))]
    proposed = mapping.propose_sources([Source("book.csv", csv_bytes(rows))])
    [guess] = [each for each in proposed.proposals[0].guesses if (each.table, each.column) == ("jobs", "job_id")]
    assert (guess.origin.header, guess.is_made) == ("Job Number", True)

"""What is said of files that were brought on the screen, once they are loaded."""

from pathlib import Path

import pytest

from analytics.answers import recording
from analytics.answers.loading import begin
from analytics.answers.records import Records
from analytics.errors import LeakbackError
from analytics.pages import bring
from analytics.pages.form import Form
from analytics.pages.offers import offers

RATES = "effective_on,item,amount,currency\n2026-01-01,labour_hour,58.00,USD\n"


def test_who_loaded_rows_of_which_some_were_rejected_is_told_where_they_are(store_path: Path) -> None:
    faulty = f"{RATES}2026-01-01,travel_hour,dear,USD\n"
    said = bring.approve(store_path, (("rates.csv", faulty.encode()),), "")
    assert said == (
        "Load 1: of 2 rows read, 1 went in, 0 changed nothing and 1 row was rejected. What was rejected, and why, "
        "stands on the Records page, to be mended."
    )


def test_no_page_is_named_where_nothing_was_rejected(store_path: Path) -> None:
    assert bring.approve(store_path, (("rates.csv", RATES.encode()),), "").endswith("0 rows were rejected.")


def undoing(store: Path) -> list[Form]:
    found = offers(bring.build(Records.of(store), {}).parts)
    return [form for form in found if isinstance(form, Form) and form.needs == "undo"]


def test_the_last_load_of_files_can_be_taken_back_where_it_was_brought(store_path: Path) -> None:
    assert begin(store_path)
    assert undoing(store_path) == []
    bring.approve(store_path, (("rates.csv", RATES.encode()),), "")
    [form] = undoing(store_path)
    assert form.note.startswith("Load 1, from rates.csv: 1 row went in on ")
    assert form.submit({}).startswith("Load 1 is taken back: 1 row is out again")
    assert Records.of(store_path).ask("rates_ahead").is_empty()
    assert undoing(store_path) == []


def test_a_load_that_is_not_the_last_any_more_is_not_taken_back(store_path: Path) -> None:
    bring.approve(store_path, (("rates.csv", RATES.encode()),), "")
    [form] = undoing(store_path)
    bring.approve(store_path, (("rates.csv", RATES.replace("58", "60").encode()),), "")
    with pytest.raises(LeakbackError, match="something else was loaded"):
        form.submit({})


def test_no_load_is_taken_back_from_under_an_entry_by_hand(store_path: Path) -> None:
    bring.approve(store_path, (("rates.csv", RATES.encode()),), "")
    recording.plan_job(store_path, {"job_id": "J-1", "planned_on": "2026-12-01"}, [{"crack_id": "J-1-1"}])
    assert undoing(store_path) == []


def test_a_load_that_brought_nothing_new_says_so_when_it_is_taken_back(store_path: Path) -> None:
    for _ in range(2):
        bring.approve(store_path, (("rates.csv", RATES.encode()),), "")
    [form] = undoing(store_path)
    assert form.submit({}) == "Load 2 is taken back: no row had come in with it."
    assert Records.of(store_path).ask("rates_ahead").height + Records.of(store_path).ask("current_rates").height == 1

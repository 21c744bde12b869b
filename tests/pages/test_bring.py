"""What is said of files that were brought on the screen, once they are loaded."""

from pathlib import Path

from analytics.pages import bring

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

"""Cracks of a file with prices of their own beside the one quoted for their job: what is held against what is said."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers.quote_of_file import quote_file
from analytics.answers.quoting import Quotes
from analytics.answers.records import Records
from tests.answers.test_currencies import LATER, changed_over

HEAD = "job_id,length_m,width_mm,wall_thickness_mm,resin,price,price_quoted,quoted_on,cracks_on_job\n"
SIDE_BY_SIDE = (
    "Each crack is held against its own price and the whole job against the one quoted, though these do not come to "
    "the same or not every crack has one: 1 job (A)."
)
IN_PART = "The price quoted is held against no costs where not every crack is quoted: 1 job (A)."


@pytest.fixture
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def found(records: Records, folder: Path, *rows: str) -> Quotes:
    path = folder / "cracks.csv"
    path.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return quote_file(records, path)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (("A,3,0.5,200,epoxy,900,1000,,", "A,1,0.5,200,epoxy,400,1000,,"), (SIDE_BY_SIDE,)),
        (("A,3,0.5,200,epoxy,1000,1000,,", "A,1,0.5,200,epoxy,,1000,,"), (SIDE_BY_SIDE,)),
        (("A,3,0.5,200,epoxy,900,1000,,", "A,1,0.5,200,epoxy,100,1000,,"), ()),
        (("A,3,0.5,200,epoxy,900,,,", "A,1,0.5,200,epoxy,400,,,"), ()),
        (("A,3,0.5,200,epoxy,1000,1000,,", "A,1,0.02,200,epoxy,,1000,,"), ()),  # too narrow to inject: it needs none
        (("A,3,0.5,200,epoxy,900,1000,,3", "A,1,0.5,200,epoxy,400,1000,,3"), (IN_PART,)),
    ],
)
def test_prices_that_do_not_come_together_are_said(
    records: Records, tmp_path: Path, rows: tuple[str, ...], said: tuple[str, ...]
) -> None:
    assert found(records, tmp_path, *rows, "B,2,0.5,200,epoxy,,800,,").unused == said


def test_what_is_said_of_them_is_so(records: Records, tmp_path: Path) -> None:
    quotes = found(records, tmp_path, "A,3,0.5,200,epoxy,900,1000,,", "A,1,0.5,200,epoxy,400,1000,,")
    assert [each.place and each.place.price for each in quotes.quotes] == [Decimal(900), Decimal(400)]
    assert [job.price for job in quotes.jobs] == [Decimal(1000)]


@pytest.mark.parametrize("price", ["900,", ",900", "900,900"])
def test_a_price_in_the_old_money_is_held_against_nothing_whoever_it_is_of(
    records_of: Callable[..., Records], tmp_path: Path, price: str
) -> None:
    rows = (f"{job},2,0.5,200,epoxy,{price},{day}," for job, day in (("A", "2024-05-30"), ("B", LATER), ("C", "")))
    quotes = found(records_of(changed_over()), tmp_path, *rows)
    assert [job.price for job in quotes.jobs] == [None, Decimal(900), Decimal(900)]
    assert [each.facts["price"] for each in quotes.quotes] == [None, Decimal(900), Decimal(900)]
    [said] = quotes.unused
    assert said.startswith("Prices from before 1 June 2024 are held against no costs, the rates being in another ")
    assert said.endswith(": 1 job (A).")

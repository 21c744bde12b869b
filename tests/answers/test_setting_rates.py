"""A rate set by hand: prices go by it from its day on, refused in the form's words, told in the history, taken back."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers import keeping
from analytics.answers.last_entry import last_entry, take_back
from analytics.answers.not_recorded import RefusedError
from analytics.answers.pricing import prices
from analytics.answers.records import Records
from analytics.answers.setting_rates import set_rate
from analytics.answers.standing import Person, asking
from analytics.contract.roles import ROLES
from analytics.contract.tables import RATE_ITEMS
from analytics.contract.words import full_day
from analytics.decisions.costs import ITEM_WORDS
from analytics.errors import NotAllowedError
from analytics.pages import keeping as kept_pages
from tests.answers.test_pricing import Opener, history

LABOUR = {"item": "labour_hour", "amount": "90", "currency": "EUR", "effective_on": "2023-06-01"}


@pytest.fixture
def path(records_of: Opener) -> Path:
    return records_of(history()).store.path


def cost(path: Path) -> float:
    """Of a metre: 50 of 80 are labour, at 60 an hour."""
    (row,) = prices(Records.of(path), ["resin"]).answer()["rows"]
    return float(row["cost_per_metre"])


def rates(path: Path) -> dict[str, Decimal]:
    return dict(Records.of(path).ask("current_rates").select("item", "amount").iter_rows())


def test_prices_go_by_it_and_it_is_taken_back(path: Path) -> None:
    assert cost(path) == 80
    said = str(set_rate(path, LABOUR))
    assert said.startswith("Recorded: an hour of labour at 90 EUR from 1 June 2023. It is load 2; it can be taken back")
    assert cost(path) == 80 + 50 * 30 / 60
    entry = last_entry(Records.of(path))
    assert entry is not None
    assert (entry.kind, entry.rows) == ("rate", ("an hour of labour from 1 June 2023",))
    assert take_back(path, entry).startswith("Taken back: rate (an hour of labour from 1 June 2023).")
    assert cost(path) == 80


def test_one_of_the_same_day_is_put_right_and_the_others_stay(path: Path) -> None:
    before = rates(path)
    set_rate(path, {**LABOUR, "effective_on": "2023-01-01", "amount": "61.25"})
    assert rates(path) == {**before, "labour_hour": Decimal("61.25")}
    assert Records.of(path).ask("rate_history").height == len(before)


def test_one_to_come_waits_for_the_records_to_reach_its_day(path: Path) -> None:
    before = rates(path)
    reached = Records.of(path).as_of
    assert reached is not None
    said = str(set_rate(path, {**LABOUR, "effective_on": "2031-01-01"}))
    assert f" from 1 January 2031, and no price changes yet: the records reach {full_day(reached)}. It is " in said
    assert rates(path) == before
    assert Records.of(path).ask("rates_ahead")["amount"].to_list() == [90]


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ({"amount": " "}, "amount: must not be blank"),
        ({"amount": "a lot"}, "amount: what is typed is not an amount with a decimal point and at most 4 decimals"),
        ({"amount": "-1"}, "amount: -1.0000; it must be at least 0"),
        ({"effective_on": ""}, "in force from: must not be blank"),
        ({"effective_on": "soon"}, "in force from: what is typed is not a day written year-month-day, as 2026-03-31"),
        ({"currency": "euro"}, "currency: what is typed is not a three-letter code such as USD"),
        ({"item": "beer"}, f"item: what is typed is not one of {', '.join(RATE_ITEMS)}"),
    ],
)
def test_refused_in_the_words_of_the_form(path: Path, typed: dict[str, str], reason: str) -> None:
    before = path.read_bytes()
    with pytest.raises(RefusedError) as refused:
        set_rate(path, LABOUR | typed)
    assert str(refused.value) == f"Not recorded: {reason}."
    assert path.read_bytes() == before


def test_what_is_a_rate_already_is_said(path: Path) -> None:
    set_rate(path, LABOUR)
    with pytest.raises(RefusedError, match="all of it is in the records already"):
        set_rate(path, {**LABOUR, "amount": "90.00"})


def test_only_the_owner_may(path: Path) -> None:
    for role in ROLES:
        with asking(Person(role)):
            if role == "owner":
                set_rate(path, LABOUR)
            else:
                with pytest.raises(NotAllowedError, match="may not change a rate"):
                    set_rate(path, LABOUR)


def test_the_history_tells_it_and_the_store_stays_sound(path: Path) -> None:
    set_rate(path, LABOUR)
    trail = keeping.history(Records.of(path)).trail
    newest = trail.filter(trail["number"] == trail["number"].max()).to_dicts()[0]
    assert json.loads(newest["details"])["files"][0][:2] == ["rates", "by hand: rate 2023-06-01 labour_hour"]
    assert "by hand: rate 2023-06-01 labour_hour" in str(kept_pages.trail(trail).rows["said"].to_list())
    assert keeping.check(path).found.is_sound


def test_every_item_has_its_words() -> None:
    assert set(ITEM_WORDS) == set(RATE_ITEMS)

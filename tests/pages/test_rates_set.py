"""What things cost on the page of prices: the rates in force and to come, and the form for who may set one."""

from collections.abc import Callable

import pytest

from analytics.answers import setting_rates
from analytics.answers.records import Records, policy_path
from analytics.contract.roles import RIGHTS, ROLES
from analytics.decisions.costs import ITEM_WORDS
from analytics.errors import LeakbackError
from analytics.pages import rates_set
from analytics.pages.form import TODAY, Form
from analytics.pages.offers import offers
from analytics.pages.page import Page, Table
from analytics.pages.seen_by import seen_by
from tests.answers.test_pricing import RATES, history

Opener = Callable[..., Records]


def form(records: Records) -> Form:
    (found,) = offers(rates_set.section(records).parts)
    assert isinstance(found, Form)
    return found


def table(records: Records) -> Table:
    (found,) = (part for part in rates_set.section(records).parts if isinstance(part, Table))
    return found


def test_item_amount_and_day_are_asked_for_in_the_currency_in_force(records_of: Opener) -> None:
    asked = {each.key: each for each in form(records_of(history())).fields}
    assert list(asked) == ["item", "amount", "effective_on"]
    assert asked["item"].options == ITEM_WORDS
    assert (asked["amount"].unit, asked["effective_on"].default) == ("EUR", TODAY)


@pytest.mark.parametrize("rates", [[], [RATES[0], {**RATES[1], "currency": "USD"}]])
def test_the_currency_is_asked_for_where_none_is_told(records_of: Opener, rates: list[dict[str, object]]) -> None:
    asked = form(records_of({**history(), "rates": rates or [{**RATES[0], "effective_on": "2031-01-01"}]}))
    assert [each.key for each in asked.fields] == ["item", "amount", "currency", "effective_on"]
    with pytest.raises(LeakbackError, match="amount is typed in EUR, and asked for in USD"):
        asked.submit({"item": "port_each", "amount": "2 EUR", "currency": "USD", "effective_on": "2024-01-01"})
    said = asked.submit({"item": "port_each", "amount": "2", "currency": "USD", "effective_on": "2024-01-01"})
    assert said.startswith("Recorded: a port at 2 USD from 1 January 2024.")


def test_the_rates_stand_there_and_those_to_come_beneath(records_of: Opener) -> None:
    records = records_of(history())
    assert [column.key for column in table(records).columns] == ["item", "amount", "effective_on"]
    form(records).submit({"item": "port_each", "amount": "2.5", "effective_on": "2031-01-01"})
    shown = table(Records.of(records.store.path))
    assert shown.rows["item"].to_list() == [
        "an hour of labour",
        "an hour of travel",
        "a litre of epoxy",
        "a port",
        "a port",
    ]
    assert shown.rows["counts"].to_list() == ["in force"] * 4 + ["once the records reach that day"]


def test_amounts_are_told_as_finely_as_they_were_set(records_of: Opener) -> None:
    records = records_of({**history(), "rates": RATES[:1]})
    (amount,) = (column for column in table(records).columns if column.key == "amount")
    assert (amount.unit, amount.under, amount.digits) == ("EUR", "", 2)
    fine = {"item": "port_each", "amount": "0.0125", "currency": "USD", "effective_on": "2031-01-01"}
    setting_rates.set_rate(records.store.path, fine)
    (amount,) = (column for column in table(Records.of(records.store.path)).columns if column.key == "amount")
    assert (amount.unit, amount.under, amount.digits) == ("", "currency", 4)


def test_only_who_may_set_a_rate_sees_the_form(records_of: Opener) -> None:
    page = Page("Prices.", (rates_set.section(records_of(history())),))
    assert [role for role in ROLES if list(offers(seen_by(RIGHTS[role], page, ()).parts))] == ["owner"]


def test_a_price_per_gallon_may_be_typed_and_stands_beside_in_us_units(records_of: Opener) -> None:
    records = records_of(history())
    rate = {"item": "epoxy_litre", "amount": "95 per gal", "effective_on": "2024-01-01"}
    form(records).submit(rate)
    assert "own" not in [column.key for column in table(Records.of(records.store.path)).columns]
    policy_path(records.store.path).write_text('display = "us"', encoding="utf-8")
    shown = table(Records.of(records.store.path))
    assert [column.key for column in shown.columns][:3] == ["item", "amount", "own"]
    own = {item: said for item, said in shown.rows.select("item", "own").iter_rows() if said}
    assert own["a litre of epoxy"] == "95.00\u202fEUR/gal"  # 25.0963 a litre
    assert "a port" not in own


def test_an_amount_per_unit_that_the_item_is_not_sold_in_is_refused(records_of: Opener) -> None:
    with pytest.raises(LeakbackError, match="Not recorded: a litre of epoxy has no price per lb"):
        form(records_of(history())).submit({"item": "epoxy_litre", "amount": "4 per lb", "effective_on": "2024-01-01"})

"""Amounts written down while the rates were in another currency: never held against today's, and that is said."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from analytics.answers import experience
from analytics.answers.currencies import left_out
from analytics.answers.pricing import PriceBook, prices
from analytics.answers.records import Records
from analytics.decisions.quote_check import Basis
from tests.answers.test_pricing import AMOUNTS, RATES, history

Opener = Callable[..., Records]
LATER = "2024-06-01"
SAID = "Prices and material costs from before 1 June 2024 are left out: until then the rates were in another currency."
NEW: list[dict[str, object]] = [
    {"effective_on": LATER, "item": item, "amount": amount, "currency": "USD"} for item, amount in AMOUNTS.items()
]


def changed_over(reached: str = "2024-07-01") -> dict[str, list[dict[str, object]]]:
    """The history of a business whose rates came to be in another currency; one job is done since."""
    told = history()
    last = {"job_id": "J-5", "quoted_on": "2024-06-02", "planned_on": None, "done_on": reached, "price_quoted": 320}
    jobs = [*told["jobs"][:5], {**told["jobs"][5], **last}]
    call = {"callback_id": "B-1", "job_id": "J-0", "crack_id": "K-0", "finding": "leak_back", "labour_minutes": 60}
    calls = [
        {**call, "reported_on": "2024-05-20", "material_cost": 900},
        {**call, "callback_id": "B-2", "job_id": "J-1", "crack_id": "K-1", "reported_on": reached, "material_cost": 9},
    ]
    return {**told, "jobs": jobs, "callbacks": calls, "rates": [*RATES, *NEW]}


def test_nothing_is_left_out_where_the_currency_never_changed(records_of: Opener) -> None:
    records = records_of(history())
    assert left_out(records) == ()
    assert records.ask("job_terms")["price_charged"].to_list() == [300] * 6


def test_older_prices_and_costs_are_not_held_against_todays(records_of: Opener) -> None:
    records = records_of(changed_over())
    assert left_out(records) == (SAID,)
    charged = dict(records.ask("job_terms").select("job_id", "price_charged").iter_rows())
    assert charged == {**{f"J-{place}": None for place in range(5)}, "J-5": 300}
    shares = dict(records.ask("crack_prices").select("crack_id", "price_share").iter_rows())
    assert shares == {**{f"K-{place}": None for place in range(5)}, "K-5": 300}
    assert records.ask("quoted_cracks")["job_id"].to_list() == ["J-5"]
    material = dict(records.ask("leak_back_costs").select("callback_id", "material_cost").iter_rows())
    assert material == {"B-1": None, "B-2": Decimal(9)}


def test_a_price_still_quoted_in_the_old_money_leaves_no_margin(records_of: Opener) -> None:
    told = changed_over()
    planned = {
        **told["jobs"][4],
        "status": "planned",
        "done_on": None,
        "planned_on": "2024-08-01",
        "price_charged": None,
    }
    jobs = [*told["jobs"][:4], {**planned, "price_quoted": 700}, told["jobs"][5]]
    records = records_of({**told, "jobs": jobs})
    assert records.ask("planned_cracks")["price_quoted"].to_list() == [None]


def test_what_lies_between_the_changes_of_two_items_is_left_out(records_of: Opener) -> None:
    told = changed_over()
    late = [{**rate, "effective_on": "2024-06-20"} if rate["item"] == "port_each" else rate for rate in NEW]
    between = {**told["jobs"][4], "done_on": "2024-06-10"}
    records = records_of({**told, "jobs": [*told["jobs"][:4], between, told["jobs"][5]], "rates": [*RATES, *late]})
    assert left_out(records) == (SAID.replace("1 June", "20 June"),)
    charged = dict(records.ask("job_terms").select("job_id", "price_charged").iter_rows())
    assert (charged["J-4"], charged["J-5"]) == (None, 300)


def test_money_that_came_back_counts_from_the_day_it_came_back(records_of: Opener) -> None:
    told = changed_over()
    back = [{**rate, "effective_on": "2024-06-25", "currency": RATES[0]["currency"]} for rate in NEW]
    assert left_out(records_of({**told, "rates": [*RATES, *NEW, *back]})) == (SAID.replace("1 June", "25 June"),)


@pytest.mark.parametrize("place", [prices, experience.basis])
def test_it_is_said_where_prices_are(records_of: Opener, place: Callable[[Records], PriceBook | Basis]) -> None:
    assert SAID in place(records_of(changed_over())).said


def test_rates_still_to_come_change_nothing(records_of: Opener) -> None:
    told = history()
    later = [{**rate, "effective_on": "2031-01-01"} for rate in NEW]
    records = records_of({**told, "rates": [*RATES, *later]})
    assert left_out(records) == ()
    assert records.ask("quoted_cracks").height == records_of(told).ask("quoted_cracks").height

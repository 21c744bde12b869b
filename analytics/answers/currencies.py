"""Which currency an amount is in, and what is left out because the rates of its day were in another than today's."""

import re
from datetime import date

from analytics.answers.records import Records
from analytics.contract import words
from analytics.decisions.costs import RatesInForce
from analytics.errors import LeakbackError
from analytics.store import Ask

NAMED = re.compile(r"^\s*([A-Z]{3})\s|\s([A-Z]{3})\s*$|(€)")
"""A currency that an amount is typed with. The signs of dollars, pounds and yen are of several."""


def require_own(name: str, text: str, currency: str) -> None:
    """LeakbackError where an amount is typed with another currency than the one it is asked for in."""
    found = NAMED.search(text)
    told = "" if found is None else "EUR" if found[3] else found[1] or found[2]
    if told and currency and told != currency:
        raise LeakbackError(f"{name} is typed in {told}, and asked for in {currency}: write it in {currency}")


def since(records: Records) -> date | None:
    """The day since which all rates are in today's currency; None where none ever was in another."""
    found: date | None = records.ask("currency_since").item()
    return found


def of_day(records: Records, day: date | None = None) -> str:
    """The currency of an amount of that day, of today where no day is known; empty where rates are in none or several.

    An amount from before the rates came to be in today's currency is in that of the rates of its day.
    """
    begun = since(records)
    is_older = begun is not None and day is not None and day < begun
    ask = Ask(records.store, day, records.policy.hemisphere) if is_older else records.ask
    return RatesInForce.of(ask("current_rates")).one_currency


def left_out(records: Records) -> tuple[str, ...]:
    """That older amounts are left out, and since when; nothing where the rates never were in another currency."""
    begun = since(records)
    if begun is None:
        return ()
    day = words.full_day(begun)
    return (
        f"Prices and material costs from before {day} are left out: until then the rates were in another currency.",
    )

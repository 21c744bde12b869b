"""What one unit of an item costs, set by hand: a rate from a day on. An earlier one holds until that day."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from analytics.answers.handing_in import Entry, Recorded, hand_in_rows, new_row
from analytics.answers.job_rows import Frames, typed
from analytics.answers.records import Records
from analytics.answers.standing import needs
from analytics.contract.tables import TABLES
from analytics.contract.words import full_day
from analytics.decisions.costs import ITEM_WORDS
from analytics.errors import LeakbackError
from analytics.intake.pricing_units import is_sold_by, taken_apart
from analytics.store.committing import current

TABLE = "rates"


@needs("rate")
def set_rate(path: Path, rate: Mapping[str, str]) -> Recorded:
    """Record a rate (texts by column); one of the same item and day is put right by it.

    RefusedError with every reason; or where that is the rate already.
    """
    item = rate["item"]
    if wrong := not_sold_so(item, rate["amount"]):
        raise LeakbackError(f"Not recorded: {wrong}.")
    what = f"{ITEM_WORDS.get(item, item)} at {rate['amount'].strip()} {rate['currency']} from {_day(rate)}"

    def make(records: Records) -> tuple[Frames, Entry]:
        held = current(records.store, TABLE, TABLES[TABLE].column_names())
        entry = Entry("rate", f"{what}{_waits(rate, records.as_of)}", {TABLE: [new_row(TABLE, rate)]})
        return {TABLE: typed(held, TABLE)}, entry

    return hand_in_rows(path, make)


def not_sold_so(item: str, amount: str) -> str:
    """Why ``amount`` as typed is no price of the item: it names a unit that the item is not sold by; else empty."""
    unit = taken_apart(amount)[1]
    return f"{ITEM_WORDS.get(item, item)} has no price per {unit}" if unit and not is_sold_by(item, unit) else ""


def _waits(rate: Mapping[str, str], as_of: date | None) -> str:
    """That a rate to come changes no price yet; nothing where it is in force."""
    if as_of is None or rate["effective_on"] <= as_of.isoformat():
        return ""
    return f", and no price changes yet: the records reach {full_day(as_of)}"


def _day(rate: Mapping[str, str]) -> str:
    """The day in words, where it is written as one."""
    try:
        return full_day(date.fromisoformat(rate["effective_on"]))
    except ValueError:
        return rate["effective_on"]

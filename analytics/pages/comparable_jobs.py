"""The finished cracks that a planned one is like, as the quote pages list them."""

import polars as pl

from analytics.answers.quoting import Quotes
from analytics.contract import words
from analytics.contract.ages import months_of
from analytics.contract.descriptions import label
from analytics.contract.roles import RECORD_PAGE
from analytics.decisions.comparable import MEASUREMENTS
from analytics.decisions.quote import Comparable, Finished, Quote
from analytics.pages.page import Column, Table

TITLE = "Comparable jobs"
COMPARED = f"Compared are {words.listed([*map(label, MEASUREMENTS)])}, as far as both cracks have them recorded."
CHARGED = "its share of its job's price, by length"
HERE = "what its price a metre comes to at this crack's length and today's hourly labour rate"


def table(found: Quotes, quote: Quote) -> Table:
    """The nearest finished cracks to one that is quoted."""
    length = quote.facts["length_m"]
    rows = pl.DataFrame(
        [
            {
                "job_id": crack.job_id,
                "crack_id": crack.crack_id,
                "why": _why(each),
                "litres": crack.resin_litres,
                "minutes": crack.labour_minutes,
                "price": crack.price,
                "here": None if crack.price_per_metre is None or length is None else crack.price_per_metre * length,
                "leaked": _leaked(crack),
            }
            for each in quote.comparable
            for crack in [each.finished]
        ],
        schema=dict.fromkeys(("job_id", "crack_id", "why", "leaked"), pl.String)
        | dict.fromkeys(("litres", "minutes", "price", "here"), pl.Float64),
    )
    columns = (
        Column("job_id", "job", link=RECORD_PAGE),
        Column("crack_id", "crack"),
        Column("why", "alike in"),
        Column("litres", "resin", kind="number", unit="L", digits=2),
        Column("minutes", "minutes", kind="number", digits=0),
        Column("price", "charged", kind="number", unit=found.currency, digits=0, help=CHARGED),
        Column("here", "at this length, today", kind="number", unit=found.currency, digits=0, help=HERE),
        Column("leaked", "leaked back"),
    )
    empty = "No finished crack to compare with yet."
    return Table(columns, rows, title="The nearest finished cracks", note=COMPARED, empty=empty)


def _why(each: Comparable) -> str:
    count = f"{each.matching} of {each.beside}"
    return f"{count}: {each.differs}" if each.differs else count


def _leaked(crack: Finished) -> str:
    months = words.counted(round(months_of(crack.watched_days)), "month")
    return f"yes, at {months}" if crack.leaked_back else f"no, {months}"

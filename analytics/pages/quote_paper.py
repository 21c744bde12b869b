"""What a quote says on paper beside its figures: what it is a quote of, whom it is for, and what to be careful of.

No form stands above it there.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from analytics.answers.quote_input import ASKED, LENGTHS
from analytics.contract import words
from analytics.contract.descriptions import label, unit
from analytics.contract.references import safety_lines
from analytics.decisions.quote import Quote
from analytics.pages.job_sheet import LOOKING
from analytics.pages.page import Caution

FOR_SHOP = (
    "For the shop, not for the customer: what the work costs, what may not be gone under and what is left at a price."
)
WITHOUT_END = "without end"
"""A warranty as long as the owner holds the house."""
SEPARATOR = " · "


def asked(quote: Quote, names: Sequence[str], currency: str, price: Decimal | None = None) -> str:
    """``Length 2.4 m · water dry · resin not said``: what was given of a crack, by these columns of ``ASKED``.

    ``price`` is its job's, where that is what was given.
    """
    counted = {"port_spacing_mm": None} if quote.take_off.spacing_assumed else {}
    if quote.flag.unpriced:  # nothing of a visit is shared out to it
        names = [name for name in names if name != "cracks_on_job"]
    facts = {**quote.facts, **counted, "price": quote.facts["price"] if price is None else price}
    return words.capital(SEPARATOR.join(f"{label(name)} {_given(name, facts[name], currency)}" for name in names))


def cautions(quotes: Sequence[Quote]) -> tuple[Caution, ...]:
    """What the job sheet of these cracks has of the resins that they take and of strength, and what no quote is."""
    lines = safety_lines(quote.facts["resin"] for quote in quotes if not quote.flag.unpriced)
    return tuple(Caution(line.says, line.source) for line in lines if line.resin or line.key in LOOKING)


def _given(name: str, value: Any, currency: str) -> str:  # noqa: ANN401 - a number or a word of a list
    if value is None:
        return WITHOUT_END if name == "warranty_months" else "not said"
    if isinstance(value, str):
        return value if name == "crew_id" else words.word(value)
    if name == "price":
        return words.number(value, 2, currency)
    told = unit(ASKED[name])
    return words.size(value, told) if told in LENGTHS else words.quantity(value, "" if told == "cracks" else told)

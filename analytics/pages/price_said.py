"""A price in a sentence, the same for one crack and for a whole job."""

from decimal import Decimal

from analytics.contract import words
from analytics.decisions.costs import margin_at

FLOOR = "nothing is left at this price"
BAD_END = "resin, minutes and leak-backs at their upper ends"
TARGET = "the floor and your margin"


def price_said(floor: Decimal, target: Decimal | None, price: Decimal | None, currency: str, of: str = "") -> str:
    """``not under 512 USD, aim for 826 USD, 34 % left at 780 USD``; ``of`` follows the floor and says whose it is.

    ``price`` is what is meant or quoted: left above the floor is a share of it, short of it an amount. None, or a
    price of nothing, is not spoken of.
    """
    aim = f", aim for {words.number(target, 0, currency)}" if target is not None else ""
    return f"not under {words.number(floor, 0, currency)}{of}{aim}{_left(floor, price, currency)}"


def _left(floor: Decimal, price: Decimal | None, currency: str) -> str:
    if not price:
        return ""
    margin = margin_at(price, floor)
    left = words.percent(margin, 0) if margin >= 0 else words.number(floor - price, 0, currency)
    return f", {left} {'left' if margin >= 0 else 'short'} at {words.number(price, 0, currency)}"

"""Where a price stands: among what comparable cracks were sold for, and above or below its own floor."""

from collections.abc import Sequence
from decimal import Decimal
from statistics import median

from analytics.decisions.costs import margin_at
from analytics.decisions.quote import Comparable, Place, Price


def place(price: Decimal, built: Price, comparable: Sequence[Comparable], length_m: float | None) -> Place:
    """The place of a ``price`` for a crack ``length_m`` long; what cannot be told is None or a count of 0."""
    others = [each.price_per_metre for each in comparable if each.price_per_metre is not None] if length_m else []
    here = [each * (length_m or 0.0) for each in others]
    return Place(
        price=price,
        under=sum(other < float(price) for other in here),
        of=len(here),
        low=min(here, default=None),
        middle=median(here) if here else None,
        high=max(here, default=None),
        margin=_margin(price, built.floor),
        margin_bad_end=_margin(price, built.bad_end),
    )


def _margin(price: Decimal, floor: Decimal | None) -> float | None:
    return None if floor is None or not price else float(margin_at(price, floor))

"""Where a price stands: among what comparable cracks were sold for, and above or below its own floor."""

from bisect import bisect_left
from collections.abc import Sequence
from decimal import Decimal
from statistics import median

from analytics.decisions.costs import margin_at
from analytics.decisions.quote import Comparable, Price, PricePlace


def place(price: Decimal, built: Price, comparable: Sequence[Comparable], length_m: float | None) -> PricePlace:
    """The place of a ``price`` for a crack ``length_m`` long; what cannot be told is None or a count of 0."""
    each_metre = [each.finished.price_per_metre for each in comparable] if length_m else []
    here = sorted(price_per_metre * (length_m or 0.0) for price_per_metre in each_metre if price_per_metre is not None)
    return PricePlace(
        price=price,
        under=bisect_left(here, float(price)),
        of=len(here),
        low=here[0] if here else None,
        middle=median(here) if here else None,
        high=here[-1] if here else None,
        margin=_margin(price, built.floor),
        margin_bad_end=_margin(price, built.bad_end),
    )


def _margin(price: Decimal, floor: Decimal | None) -> float | None:
    return None if floor is None or not price else float(margin_at(price, floor))

"""Prices of one of a business's own units, as ``95 per gal``, to those of one of the contract's."""

import re
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation

import polars as pl

from analytics.contract.columns import RATE_SCALE
from analytics.contract.tables import RATE_UNITS
from analytics.errors import MapError
from analytics.intake.numerals import numbers
from analytics.intake.sheet import Mark
from analytics.intake.units import UNITS, Scale, scale

PER = re.compile(r"^(?P<what>.*\S)\s*(?:/|\bper\b)\s*(?:an?\s+|one\s+)?(?P<unit>[^\d/]*[^\d/\s.])\.?$", re.IGNORECASE)
WORD = re.compile(r"[^\W\d_]+")
OF_ONE = Decimal(1).scaleb(-RATE_SCALE)


def taken_apart(text: str) -> tuple[str, str]:
    """``95 per gal``, ``Epoxy / gallon``, ``epoxy_litre per gal``: what is before, and the unit, empty without one."""
    found = PER.match(text.strip())
    unit = found["unit"].strip().lower() if found else ""
    return (found["what"], unit) if found and unit in UNITS else (text.strip(), "")


def prices(cells: pl.Series, per: Sequence[str], mark: Mark, *, thousands: bool = False) -> pl.Series:
    """Amounts that name the unit they are the price of one of, as text in the contract's; null elsewhere."""
    odd = cells.drop_nulls().unique()
    read = {cell: price for cell in odd if (price := _price(cell, per, mark, thousands=thousands)) is not None}
    return cells.replace_strict(read, default=None, return_dtype=pl.String)


def _price(cell: str, per: Sequence[str], mark: Mark, *, thousands: bool) -> str | None:
    amount, unit = taken_apart(cell)
    size = next((found for target in per if unit and (found := _size(unit, target))), None)
    read = numbers(pl.Series([amount]), mark, signs=True, thousands=thousands).item() if size else None
    if read is None or size is None:
        return None
    try:
        return f"{(Decimal(read) / Decimal(repr(size.times))).quantize(OF_ONE):f}"
    except InvalidOperation:  # more digits than any amount has
        return None


def _size(unit: str, target: str) -> Scale | None:
    try:
        return scale(unit, target)
    except MapError:
        return None


def is_sold_by(item: str, unit: str) -> bool:
    """Whether an item of ``rates`` has a price of one of what ``unit`` measures."""
    target = RATE_UNITS.get(item)
    return target is not None and _size(unit, target) is not None


def other_unit(item: str, theirs: str) -> str:
    """The unit that a business's words for an item name, where the item's own is another that measures the same."""
    target, per = RATE_UNITS.get(item), taken_apart(theirs)[1]
    named = [per] if per else [word for word in WORD.findall(theirs.lower()) if word in UNITS]
    sizes = {unit: _size(unit, target) for unit in named} if target else {}
    return next((unit for unit, size in sizes.items() if size not in {None, Scale(1.0)}), "")


def not_sold_by(items: pl.Series, amounts: pl.Series) -> dict[int, str]:
    """Why an amount is no price of the item beside it, by position: it names a unit that the item is not sold by."""
    pairs = pl.DataFrame({"item": items.cast(pl.String), "amount": amounts}).with_row_index("at").drop_nulls()
    units = {amount: unit for amount in pairs["amount"].unique() if (unit := taken_apart(amount)[1])}
    told = pairs.filter(pl.col("amount").is_in(list(units))).iter_rows()
    return {
        at: f"the cell is a price per {units[amount]}, and {item} has none; write the price of one {_one(item)}"
        for at, item, amount in told
        if not is_sold_by(item, units[amount])
    }


def _one(item: str) -> str:
    return RATE_UNITS.get(item, "piece")

"""Column kinds of the contract: dataframely columns that also carry a unit and when they are known."""

from decimal import Decimal as PyDecimal
from typing import Literal

import dataframely as dy

CODE = r"^[A-Za-z0-9][A-Za-z0-9._/#-]{0,63}$"
Known = Literal["handed", "chosen", "done"]
"""When a fact is known: handed to the crew, chosen before the work, or done on the day."""

MONEY_UNIT = "currency of rates"
MONEY_DIGITS, MONEY_SCALE = 12, 2
RATE_SCALE = 4

# ``blank``, where a kind takes it, is what a blank cell means; without it, only that nothing is recorded.


def key(description: str) -> dy.String:
    """The table's key: the business's own number, a code without spaces."""
    return dy.String(primary_key=True, regex=CODE, description=description)


def code(description: str, *, nullable: bool = False, blank: str = "") -> dy.String:
    """A reference or short code without spaces."""
    return dy.String(nullable=nullable, regex=CODE, description=_with(blank, description), metadata={"blank": blank})


def name(description: str) -> dy.String:
    """A short name of a place or group; may hold spaces, never free text."""
    return dy.String(nullable=True, max_length=64, description=description)


def choice(
    description: str, *values: str, nullable: bool = True, known: Known | None = None, blank: str = ""
) -> dy.Enum:
    """One word of a fixed list."""
    metadata = {"known": known, "blank": blank}
    return dy.Enum(values, nullable=nullable, description=_with(blank, description), metadata=metadata)


def day(description: str, *, nullable: bool = True, blank: str = "") -> dy.Date:
    """An ISO 8601 calendar day."""
    metadata = {"unit": "ISO 8601 date", "blank": blank}
    return dy.Date(nullable=nullable, description=_with(blank, description), metadata=metadata)


def number(
    description: str,
    unit: str,
    *,
    least: float | None = None,
    above: float | None = None,
    most: float,
    known: Known | None = None,
) -> dy.Float64:
    """A measured quantity in ``unit``, from ``least`` or above ``above``, to ``most``; never NaN or infinite."""
    metadata = {"unit": unit, "known": known}
    return dy.Float64(
        nullable=True, min=least, min_exclusive=above, max=most, description=description, metadata=metadata
    )


def whole(description: str, unit: str, *, most: int, known: Known | None = None, blank: str = "") -> dy.Int64:
    """A whole number of ``unit``, from 0 to ``most``."""
    metadata = {"unit": unit, "known": known, "blank": blank}
    return dy.Int64(nullable=True, min=0, max=most, description=_with(blank, description), metadata=metadata)


def step(description: str) -> dy.Bool:
    """A step that was or was not done on the day."""
    return dy.Bool(nullable=True, description=description, metadata={"unit": "true or false", "known": "done"})


def money(
    description: str,
    *,
    scale: int = MONEY_SCALE,
    nullable: bool = True,
    most: PyDecimal | None = None,
    per: tuple[str, ...] = (),
) -> dy.Decimal:
    """An amount in the currency of ``rates``; never negative. It may be the price of one of the units ``per``."""
    return dy.Decimal(
        MONEY_DIGITS + scale,
        scale,
        nullable=nullable,
        min=PyDecimal(0),
        max=most,
        description=description,
        metadata={"unit": MONEY_UNIT, "per": per},
    )


def _with(blank: str, description: str) -> str:
    return f"{description.removesuffix('.')}; blank = {blank}." if blank else description

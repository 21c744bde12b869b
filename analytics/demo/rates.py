"""What things cost the invented business, from a day on."""

from datetime import date
from decimal import Decimal

import polars as pl

from analytics.demo.days import FIRST_DAY

CURRENCY = "USD"

STEP_DAYS = (FIRST_DAY, *(date(year, 1, 1) for year in range(2022, 2027)))
AMOUNTS = {
    "labour_hour": ("58.00", "60.00", "62.50", "65.00", "67.50", "69.50"),
    "travel_hour": ("41.00", None, "44.00", None, "47.00", None),
    "epoxy_litre": ("36.00", "38.50", "41.00", "42.00", "43.00", "44.50"),
    "urethane_foam_litre": ("31.00", "33.50", "36.00", "36.50", "37.50", "38.50"),
    "port_each": ("1.55", None, "1.70", None, None, "1.80"),
    "seal_kg": ("8.50", None, "9.20", None, None, "9.80"),
}
"""One amount a step day; None where it stays as it was."""


def rates() -> pl.DataFrame:
    """The table rates, one row a change, by day."""
    rows = [
        (day, item, Decimal(amount), CURRENCY)
        for place, day in enumerate(STEP_DAYS)
        for item, amounts in AMOUNTS.items()
        if (amount := amounts[place]) is not None
    ]
    return pl.DataFrame(
        rows,
        schema={"effective_on": pl.Date, "item": pl.String, "amount": pl.Decimal(16, 4), "currency": pl.String},
        orient="row",
    )


def costs_by_day() -> pl.DataFrame:
    """What each item costs from each step day on: effective_on and one number a column named after the item."""
    return (
        rates()
        .with_columns(pl.col("amount").cast(pl.Float64))
        .pivot("item", index="effective_on", values="amount")
        .sort("effective_on")
        .select(pl.all().forward_fill())
    )

"""What each crack of a whole column of them costs, part by part, and what is charged for it."""

import polars as pl

from analytics.contract.descriptions import label
from analytics.contract.policy import Prices
from analytics.contract.tables import RESINS
from analytics.decisions.costs import RatesInForce, price_floor, worked
from analytics.takeoff.volumes import seal_litres_expr

PARTS = ("resin", "ports", "seal", "labour", "travel", "prep")
"""What the direct cost of a crack is made of; prep is extra prep, where it is asked for."""
MATERIAL = ("resin", "ports", "seal")
NEEDED = ("length_m", "resin", "resin_litres", "labour_minutes", "port_count", "travel_minutes")
"""What must be recorded of a crack, or of its job, for its cost to be worked out."""


def what_is_missing(cracks: pl.DataFrame) -> str:
    """Why none of these cracks has a cost: how many of them lack each record that it takes."""
    said = "No finished crack of these months has its costs recorded"
    lack = {name: cracks[name].null_count() for name in NEEDED}
    named = [f"{count} without {label(name)}" for name, count in lack.items() if count]
    if not named:
        return f"{said}."
    none = " (write 0 for a job that had none)" if lack["travel_minutes"] else ""
    return f"{said}. Of {cracks.height}: {', '.join(named)}{none}."


def rate_columns(rates: RatesInForce) -> dict[str, pl.Expr]:
    """A column of the amount of each item in force."""
    return {item: pl.lit(float(amount)) for item, amount in rates.amounts.items()}


def need_rates(rates: RatesInForce, cracks: pl.DataFrame, prices: Prices) -> None:
    """LeakbackError naming the first rate that these cracks' costs need and that is not in force."""
    used = [resin for resin in RESINS if cracks.filter(pl.col("resin") == resin).height]
    driven = float(cracks["travel_minutes"].fill_null(0.0).sum()) > 0
    items = [*(f"{resin}_litre" for resin in used), "port_each", "labour_hour"]
    items += ["travel_hour"] if driven else []
    items += ["seal_kg"] if prices.seal_kg_per_litre is not None else []
    for item in items:
        rates.need(item)


def with_costs(cracks: pl.DataFrame, prices: Prices) -> pl.DataFrame:
    """``cracks`` with a column ``resin_cost`` and so on of each part, and ``direct``, their sum, money.

    Null where something a cost needs is not recorded. Needs length_m, resin, resin_litres, labour_minutes,
    port_count, travel_minutes and cracks_on_job (a job's travel and set-up are shared over its cracks alike), and a
    column of amounts named after each item of ``rates``. Without a density the seal costs 0; ``prep_cost`` is 0
    unless there is such a column.
    """
    share = 1.0 / pl.col("cracks_on_job")
    blank = [pl.lit(None, pl.Float64).alias(item) for item in ("travel_hour", "seal_kg") if item not in cracks.columns]
    none = [] if "prep_cost" in cracks.columns else [pl.lit(0.0).alias("prep_cost")]
    litre = pl.coalesce(
        pl.when(pl.col("resin") == resin).then(pl.col(f"{resin}_litre"))
        for resin in RESINS
        if f"{resin}_litre" in cracks.columns
    )
    density = prices.seal_kg_per_litre
    minutes = pl.col("labour_minutes") + (prices.set_up_minutes or 0.0) * share
    driven = pl.col("travel_minutes") * share
    return (
        cracks.with_columns(blank + none)
        .with_columns(
            resin_cost=pl.col("resin_litres") * litre,
            ports_cost=pl.col("port_count") * pl.col("port_each"),
            seal_cost=pl.lit(0.0) if density is None else seal_litres_expr() * density * pl.col("seal_kg"),
            labour_cost=worked(minutes, pl.col("labour_hour")),
            travel_cost=pl.when(driven == 0).then(0.0).otherwise(worked(driven, pl.col("travel_hour"))),
        )
        .with_columns(direct=pl.sum_horizontal((f"{part}_cost" for part in PARTS), ignore_nulls=False))
    )


def with_charge(cracks: pl.DataFrame) -> pl.DataFrame:
    """``cracks`` with floor, ``charged``, each crack's part of its job's price_charged, and what is ``left`` of it.

    A job's price is shared over its cracks as their labour minutes are: null unless all are recorded. Needs direct,
    leak_back (money), labour_minutes, job_id, cracks_on_job and price_charged.
    """
    minutes = pl.col("labour_minutes")
    complete = minutes.count().over("job_id") == pl.col("cracks_on_job")
    total = minutes.sum().over("job_id")
    charged = pl.when(complete & (total > 0)).then(pl.col("price_charged") * minutes / total)
    floor = price_floor(pl.col("direct"), pl.col("leak_back"))
    return cracks.with_columns(charged=charged, floor=floor).with_columns(left=pl.col("charged") - pl.col("floor"))

"""Each crew held once more against the others, without those among them that have more leak-backs than is explained.

A bad crew raises what is expected of every crew beside it, so that level ones read low. Who is signalled high is not
asked again: the signal would feed on itself.
"""

from collections.abc import Callable, Sequence

import polars as pl

Again = Callable[[Sequence[str]], pl.DataFrame | None]
"""A profile's rows of all but these crews, without their cracks; None where the others' are too few."""
WITHOUT = {
    **dict.fromkeys(("ratio_without", "ratio_without_low", "ratio_without_high"), pl.Float64),
    "low_beside_high": pl.Boolean,
}
"""Observed over expected without the crews signalled high, null without any; and whether it is low only beside them."""


def without_high(rows: pl.DataFrame, again: Again) -> pl.DataFrame:
    """A profile's ``rows`` with ``WITHOUT``; low stays a signal only where it is one without the high crews too."""
    high = rows.filter(pl.col("signal") == "high")["crew_id"].to_list()
    found = again(high) if high else None
    ends = {"ratio_without": "ratio", "ratio_without_low": "low", "ratio_without_high": "high"}
    held = (rows.clear() if found is None else found).select("crew_id", **ends, still="signal")
    only_beside = (pl.col("signal") == "low") & pl.col("still").ne_missing(pl.lit("low")) & pl.lit(bool(high))
    joined = rows.join(held, on="crew_id", how="left", maintain_order="left")
    return joined.with_columns(
        low_beside_high=only_beside, signal=pl.when(only_beside).then(pl.lit("none")).otherwise("signal")
    ).drop("still")


def besides(follow_up: pl.DataFrame, crews: Sequence[str]) -> pl.DataFrame:
    """The cracks of other crews than these, and of none."""
    return follow_up.filter(~pl.col("crew_id").is_in(crews).fill_null(value=False))

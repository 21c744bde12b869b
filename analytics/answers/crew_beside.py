"""Each crew held once more against the others, without those among them that have more leak-backs than is explained.

A bad crew raises what is expected of every crew beside it, so that level ones read low. Who is signalled high is not
asked again: the signal would feed on itself.
"""

from collections.abc import Callable, Collection, Sequence

import polars as pl

from analytics.answers.crew_held import Held, within
from analytics.errors import TooFewError
from analytics.risk import Penalties

Again = Callable[[tuple[str, ...]], Held | None]
"""As ``besides`` of the same done cracks."""
WITHOUT = {
    **dict.fromkeys(("ratio_without", "ratio_without_low", "ratio_without_high"), pl.Float64),
    "low_beside_high": pl.Boolean,
}
"""Observed over expected without the crews signalled high, null without any; and whether it is low only beside them."""


def besides(follow_up: pl.DataFrame, penalties: Penalties, crews: Sequence[str]) -> Held | None:
    """The cracks of other crews than these, and of none, held against each other; None where that is too little."""
    cracks = follow_up.filter(~pl.col("crew_id").is_in(crews).fill_null(value=False))
    try:
        return Held.of(cracks, penalties)
    except TooFewError:
        return None


def without_high(rows: pl.DataFrame, again: Again, months: int, apart: Collection[str] = ()) -> pl.DataFrame:
    """A profile's ``rows`` with ``WITHOUT``; low stays a signal only where it is one without the high crews too.

    Those ``apart`` count among them: they have so many leak-backs that there is nothing to hold them against.
    """
    high = tuple(sorted({*rows.filter(pl.col("signal") == "high")["crew_id"], *apart}))
    held = again(high) if high else None
    found = rows.clear() if held is None else held.profile(within(held.followed, months)).rows
    ends = {"ratio_without": "ratio", "ratio_without_low": "low", "ratio_without_high": "high"}
    told = found.select("crew_id", **ends, still="signal")
    only_beside = (pl.col("signal") == "low") & pl.col("still").ne_missing(pl.lit("low")) & pl.lit(bool(high))
    joined = rows.join(told, on="crew_id", how="left", maintain_order="left")
    return joined.with_columns(
        low_beside_high=only_beside, signal=pl.when(only_beside).then(pl.lit("none")).otherwise("signal")
    ).drop("still")

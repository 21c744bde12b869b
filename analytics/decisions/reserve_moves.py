"""Why the reserve is not what it was: new work, warranties ended, leak-backs, rates read anew, changed costs."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from analytics.decisions.reserving import expected_each, under_warranty
from analytics.risk import HazardModel


@dataclass(frozen=True)
class ReserveBasis:
    """What was known on a day: the done cracks as they stood, the model fitted on them, what a leak-back cost.

    ``cost`` is None where too few were costed; ``cost_at_later_rates`` is the same leak-backs at the rates of the
    later day.
    """

    as_of: date
    follow_up: pl.DataFrame
    model: HazardModel
    cost: float | None
    cost_at_later_rates: float | None = None


@dataclass(frozen=True)
class Move:
    """One reason the reserve moved, in expected leak-backs and in money (None where costs are not known)."""

    reason: str
    leak_backs: float
    cost: float | None


@dataclass(frozen=True)
class Moves:
    """From the reserve of an earlier day to today's: ``moves`` take the one to the other exactly."""

    since: date
    opening: Move
    moves: tuple[Move, ...]
    closing: Move


def moved(before: ReserveBasis, now: ReserveBasis) -> Moves:
    """How the reserve of ``before`` became that of ``now``.

    The leak-backs since then are paid out of it. Where there were fewer than expected, the rest is free again; where
    more, it had to be added to. A warranty that ended frees what was kept for it.
    """
    opening = float(_expected(before.model, before)["expected"].sum())
    kept = _expected(now.model, before)
    ahead = _expected(now.model, now)
    old = _old_cracks(kept, ahead, now)
    fresh = ahead.join(kept, on="crack_id", how="anti")
    ended, running = old.filter("ended"), old.filter(~pl.col("ended"))
    leaked = float(old["leaked"].sum())
    experience = _balance(running)
    counts = {
        "leak-backs since then, at what one costs": -leaked,
        f"{'more' if experience > 0 else 'fewer'} leak-backs than expected": experience,
        "warranties ended": _balance(ended),
        "new work": float(fresh["expected"].sum()),
        "the risks read anew from the fuller records": float(kept["expected"].sum()) - opening,
    }
    moves = [Move(reason, count, _times(count, now.cost)) for reason, count in counts.items()]
    closing = float(ahead["expected"].sum())
    return Moves(
        before.as_of,
        Move("set aside", opening, _times(opening, before.cost)),
        (*moves, *_costs(opening, before, now)),
        Move("set aside", closing, _times(closing, now.cost)),
    )


def _expected(model: HazardModel, known: ReserveBasis) -> pl.DataFrame:
    """Each crack under warranty that had held: crack_id, expected, warranty_ends_on."""
    held = under_warranty(known.follow_up, known.as_of, model.oldest_days)
    expected = expected_each(model, held) if held.height else np.empty(0)
    return held.select("crack_id", "warranty_ends_on", pl.Series("expected", expected, dtype=pl.Float64))


def _old_cracks(kept: pl.DataFrame, ahead: pl.DataFrame, now: ReserveBasis) -> pl.DataFrame:
    """The cracks of the earlier reserve: kept for them then and now, whether they leaked, whether warranty ended."""
    since = now.follow_up.filter("leaked_back").select("crack_id", leaked=pl.lit(1.0))
    return (
        kept.join(since, on="crack_id", how="left")
        .join(ahead.select("crack_id", still="expected"), on="crack_id", how="left")
        .with_columns(
            pl.col("leaked", "still").fill_null(0.0),
            ended=(pl.col("warranty_ends_on") <= now.as_of).fill_null(value=False),
        )
    )


def _balance(old: pl.DataFrame) -> float:
    """What is still kept, and was paid, over what was kept for them."""
    return float((old["still"] + old["leaked"] - old["expected"]).sum())


def _costs(opening: float, before: ReserveBasis, now: ReserveBasis) -> list[Move]:
    """The earlier reserve's leak-backs at today's rates, and at what leak-backs have cost since."""
    if before.cost is None or before.cost_at_later_rates is None or now.cost is None:
        return []
    return [
        Move("changed rates", 0.0, opening * (before.cost_at_later_rates - before.cost)),
        Move("what leak-backs have cost since", 0.0, opening * (now.cost - before.cost_at_later_rates)),
    ]


def _times(count: float, cost: float | None) -> float | None:
    return None if cost is None else count * cost

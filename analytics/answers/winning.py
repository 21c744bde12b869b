"""How often quotes were won, against what they should have cost on their day."""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from analytics.answers import experience
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.steady import steady_rows
from analytics.contract import words
from analytics.contract.bounds import USUAL_LEVEL
from analytics.decisions.costs import NO_MARGIN, price_floor, price_target, warranty_leak_backs
from analytics.decisions.crack_costs import need_rates, with_costs
from analytics.decisions.estimating import WorkModel, estimate
from analytics.decisions.quote_check import Basis
from analytics.decisions.taking_off import with_spacing
from analytics.decisions.winning import NOT_AT_RANDOM, by_band, curve_points, win_curve
from analytics.errors import LeakbackError, TooFewError
from analytics.takeoff.ports import port_count_expr

Work = tuple[WorkModel, WorkModel]
"""What tells litres, and what tells minutes."""


@dataclass(frozen=True)
class Winning:
    """Win rates by band of price over target, and the curve where there are quotes enough.

    ``bands`` and ``curve`` as in ``analytics.decisions.winning``, empty where ``said`` says why. ``left_out`` quotes
    could not be priced for want of a measurement or a rate of their day.
    """

    quotes: int
    lost: int
    left_out: int
    bands: pl.DataFrame
    curve: pl.DataFrame
    said: tuple[str, ...]

    def answer(self) -> dict[str, Any]:
        """The part of the price book's answer about winning."""
        return {
            "level": USUAL_LEVEL,
            "quotes": self.quotes,
            "lost": self.lost,
            "left_out": self.left_out,
            "by_band_of_price_over_target": _rows(self.bands),
            "curve": _rows(self.curve),
            "said": list(self.said),
        }


@remembered
def winning(records: Records, *, margin: Decimal | None = None) -> Winning:
    """Win rates of the quotes that were won or lost, at the policy's margin unless another is given.

    A quote's target is worked out from its measurements, as the quote check does, at the rates of the day it was
    quoted: never from what was agreed in the end.
    """
    known = experience.basis(records)
    aimed = records.policy.prices.margin if margin is None else margin
    none = Winning(0, 0, 0, pl.DataFrame(), pl.DataFrame(), ())
    if aimed is None:
        return _silent(none, NO_MARGIN)
    if known.litres is None or known.minutes is None:
        return _silent(none, known.said[0])
    cracks = _as_planned(records.ask("quoted_cracks"), known, (known.litres, known.minutes))
    try:
        need_rates(known.rates, cracks, records.policy.prices)
    except LeakbackError as wrong:
        return _silent(none, str(wrong))
    quotes = _priced(records, cracks, float(aimed))
    told = quotes.filter(pl.col("target").is_not_null())
    won = np.asarray(told["won"].to_numpy(), dtype=np.bool_)
    ratios = (told["price_quoted"] / told["target"]).to_numpy()
    left_out = quotes.height - told.height
    if won.all():
        return replace(_silent(none, _none_lost(quotes)), left_out=left_out)
    bands = by_band(ratios, won, USUAL_LEVEL)
    try:
        curve = win_curve(ratios, won)
    except TooFewError as error:
        return Winning(len(won), int((~won).sum()), left_out, bands, pl.DataFrame(), (f"No curve: {error}",))
    points = curve_points(curve, ratios, *_means(told), USUAL_LEVEL)
    return Winning(len(won), int((~won).sum()), left_out, bands, points, (NOT_AT_RANDOM,))


def _means(told: pl.DataFrame) -> tuple[float, float]:
    """The mean target and the mean floor of the quotes."""
    target, floor = told.select(pl.col("target").mean(), pl.col("floor").mean()).row(0)
    return float(target), float(floor)


def _silent(none: Winning, why: str) -> Winning:
    return replace(none, said=(f"No win rates. {words.sentence(why)}",))


def _none_lost(quotes: pl.DataFrame) -> str:
    """Why no lost quote is among those priced: none is recorded, or what a price takes is not recorded of any."""
    if lost := quotes.filter(~pl.col("won")).height:
        said = words.counted(lost, "lost quote was", "lost quotes were")
        return f"{said} recorded, none with the measurements and rates of its day that a price takes"
    return "no lost quote is recorded: record them, and the win rate at each price shows"


def _priced(records: Records, cracks: pl.DataFrame, margin: float) -> pl.DataFrame:
    """Each quote's floor and target on its day: job_id, won, price_quoted, floor, target (null where not known)."""
    dated = cracks.sort("quoted_on").join_asof(
        _rates_by_day(records), left_on="quoted_on", right_on="effective_on", check_sortedness=False
    )
    floor = price_floor(pl.col("direct"), pl.col("leak_back"))
    costed = with_costs(dated, records.policy.prices).with_columns(floor=floor)
    jobs = costed.group_by("job_id").agg(
        pl.col("won", "price_quoted").first(),
        floor=pl.when(pl.col("floor").is_not_null().all()).then(pl.col("floor").sum()),
    )
    return jobs.with_columns(target=price_target(pl.col("floor"), pl.lit(margin))).sort("job_id")


def _as_planned(cracks: pl.DataFrame, known: Basis, work: Work) -> pl.DataFrame:
    """The cracks with what the quote check would expect of them: litres, minutes, ports and leak-backs' cost."""
    litres, minutes = work
    spaced = with_spacing(cracks)
    leak_back = pl.Series("leak_back", np.zeros(spaced.height))
    if known.model is not None and known.leak_back is not None:
        expected = warranty_leak_backs(known.model, spaced)["leak_backs"]
        leak_back = (expected * float(known.leak_back.mean)).alias("leak_back")
    return spaced.with_columns(
        estimate(litres, spaced)["expected"].alias("resin_litres"),
        estimate(minutes, spaced)["expected"].alias("labour_minutes"),
        leak_back,
        port_count=port_count_expr(),
        travel_minutes=pl.col("travel_minutes").fill_null(0.0),
    )


def _rates_by_day(records: Records) -> pl.DataFrame:
    """The amount of each item from each day on: effective_on and a column an item."""
    history = records.ask("rate_history")
    wide = history.pivot("item", index="effective_on", values="amount", aggregate_function="last")
    return wide.sort("effective_on").with_columns(pl.all().exclude("effective_on").forward_fill())


def _rows(frame: pl.DataFrame) -> list[dict[str, Any]]:
    return steady_rows(frame).to_dicts()

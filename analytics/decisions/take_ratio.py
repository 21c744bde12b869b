"""Finished cracks that took far more resin than their size, their water and their crew explain.

The litres regression is fitted to every finished crack; what it leaves over is measured against the middle and the
spread (median absolute deviation) of the rest, so that the odd ones cannot hide themselves.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import polars as pl
from scipy import special

from analytics.contract.descriptions import crew_said
from analytics.contract.rules import figure
from analytics.decisions.estimating import design, fit_with_crews, logs, mean_logs, recorded, require_enough
from analytics.stats.least_squares import Floats

TO_NORMAL = 1.4826
"""Times the median absolute deviation, the standard deviation of a normal (Hampel 1974)."""
ENOUGH_OF_A_RESIN = 100
BY_CHANCE = 1.0
"""How many cracks the list would hold were nothing odd: the cut is set so, whatever the number of cracks."""
MISREAD_MM = 0.5
"""A width may be this much more than was written down without anyone noticing (our own choice, no source)."""
USUAL_SHARE = 0.95
"""Litres are usual that lie as near the middle as so many of the cracks (our own choice, no source)."""
A_PLACE = 10.0
"""What the decimal point moved by one place makes of a number."""
CREW_CHANCE = 0.01
"""That chance alone says waste of any crew at all."""
FEWEST_OF_A_CREW = 3
"""Jobs of a crew on the list: the cracks of one job have the same space behind them."""


@dataclass(frozen=True, slots=True)
class Excess:
    """A crack that took ``litres`` where ``explained`` (the middle) were to be expected.

    ``times`` is litres over explained; ``implied_width_mm`` is how wide it would be were size the only reason. ``slip``
    is another possible reading, where litres with the decimal point a place further on would be usual; else empty.
    """

    crack_id: str
    job_id: str
    crew_id: str
    resin: str
    litres: float
    explained: float
    times: float
    width_mm: float
    implied_width_mm: float
    reading: str
    why: str
    slip: str


@dataclass(frozen=True)
class TakeWatch:
    """The cracks beyond the cut, the largest excess first, of ``cracks`` looked at.

    ``by_chance`` of them were to be expected with errors of a normal shape; ``under`` lie as far on the other side,
    where only errors of measuring and writing down can put them.
    """

    excesses: tuple[Excess, ...]
    cracks: int
    by_chance: float
    under: int
    cut: float


def watch(follow_up: pl.DataFrame) -> TakeWatch:
    """The cracks whose litres are beyond what explains them; TooFewError where there are too few to tell."""
    cracks = recorded("resin_litres", follow_up)
    require_enough("resin_litres", cracks.height)
    x, y = design(cracks, mean_logs(cracks)), logs("resin_litres", cracks)
    fit, _ = fit_with_crews(x, y, cracks["crew_id"])
    off, spread = _from_the_middle(fit.residuals, cracks["resin"])
    strange, slipped = _strange(off, spread), _strange(off - math.log(A_PLACE), spread)
    cut = float(-special.ndtri(min(0.5, BY_CHANCE / cracks.height)))
    told = cracks.with_columns(explained=np.exp(y - fit.residuals), strange=strange, slipped=slipped)
    rows = told.filter(pl.col("strange") > cut)
    excesses = sorted(_excesses(rows, cracks), key=lambda each: each.explained - each.litres)
    return TakeWatch(tuple(excesses), cracks.height, BY_CHANCE, int((strange < -cut).sum()), cut)


def _from_the_middle(residuals: Floats, resins: pl.Series) -> tuple[pl.Series, pl.Series]:
    """How far off the middle each residual is, and a robust standard deviation, by resin where there are enough."""
    group = pl.when(pl.len().over("resin") >= ENOUGH_OF_A_RESIN).then("resin").fill_null("others")
    off = pl.DataFrame({"resin": resins.cast(pl.String), "residual": residuals}).with_columns(group=group)
    off = off.with_columns(off=pl.col("residual") - pl.col("residual").median().over("group"))
    off = off.with_columns(spread=TO_NORMAL * pl.col("off").abs().median().over("group"))
    return off["off"], off["spread"]


def _strange(off: pl.Series, spread: pl.Series) -> pl.Series:
    """Standard deviations off the middle; none where nothing spreads."""
    return pl.select(pl.when(spread > 0).then(off / spread).otherwise(0.0)).to_series()


def _excesses(rows: pl.DataFrame, cracks: pl.DataFrame) -> Iterator[Excess]:
    often = _often(*(each.unique("job_id")["crew_id"] for each in (rows, cracks)))
    for row in rows.iter_rows(named=True):
        times = row["resin_litres"] / row["explained"]
        implied = row["width_mm"] * times
        reading, why = _reading(row["width_mm"], implied, often.get(row["crew_id"], ""))
        yield Excess(
            crack_id=row["crack_id"],
            job_id=row["job_id"],
            crew_id=row["crew_id"],
            resin=row["resin"],
            litres=row["resin_litres"],
            explained=row["explained"],
            times=times,
            width_mm=row["width_mm"],
            implied_width_mm=implied,
            reading=reading,
            why=why,
            slip=slip_said(row["resin_litres"], row["slipped"]),
        )


def _often(listed: pl.Series, crews: pl.Series) -> dict[str, str]:
    """The crews with more jobs listed than their share of all explains (binomial, Bonferroni), and that in words."""
    shares = dict(crews.value_counts(normalize=True).iter_rows())
    found = {}
    for crew, count in listed.drop_nulls().value_counts().iter_rows():
        chance = float(special.bdtrc(count - 1, len(listed), shares[crew]))
        if count >= FEWEST_OF_A_CREW and chance * len(shares) < CREW_CHANCE:
            usual = figure(len(listed) * shares[crew])
            found[crew] = (
                f"{crew_said(crew)} has {count} of the {len(listed)} jobs on this list, where {usual} is its share"
            )
    return found


def _reading(width_mm: float, implied_mm: float, often: str) -> tuple[str, str]:
    """The likely reading, and why it is the likely one."""
    if often:
        return "waste", often
    wide = f"it would have to be {figure(round(implied_mm, 1))} mm wide to hold so much"
    if implied_mm - width_mm <= MISREAD_MM:
        return "width measured too small", f"{wide}, {figure(width_mm)} mm is written down"
    return "an empty space behind the wall", f"{wide}, and {figure(width_mm)} mm is hardly a slip of measuring"


def slip_said(litres: float, slipped: float) -> str:
    """What may have been meant, where it would be usual: ``slipped``, how strange a tenth of ``litres`` would be."""
    if abs(slipped) > special.ndtri((1 + USUAL_SHARE) / 2):
        return ""
    return f"or {figure(litres / A_PLACE)} L written as {figure(litres)} L"

"""How often quotes are won at which price against the target, as it was: a description, no advice."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.errors import TooFewError
from analytics.stats.intervals import normal_reach, wilson

Array = NDArray[np.float64]
EDGES = (0.8, 0.9, 1.0, 1.1, 1.2)
BANDS = ("under 80 %", "80 to 90 %", "90 to 100 %", "100 to 110 %", "110 to 120 %", "120 % and over")
"""Bands of price over target, from (included) to (excluded)."""
FEWEST_QUOTES = 300
"""With fewer, the slope of a win curve is chance: its standard error is about a quarter of the slope itself."""
FEWEST_EITHER = 30
"""Won and lost quotes a curve needs at least of each."""
CURVE_POINTS = 25
MOST_STEPS, SETTLED = 50, 1e-10
"""Newton's steps at most; twice the gain in likelihood a further one would bring, under which there is none."""
SEEN = (0.025, 0.975)
"""The curve is held within these shares of the prices seen."""
NOT_AT_RANDOM = (
    "Prices were not set at random: whoever quotes may ask more where the customer is in a hurry, and win those all "
    "the same. Then a price raised for everybody would lose more than this curve shows, at any number of quotes."
)


@dataclass(frozen=True, eq=False)
class WinCurve:
    """Chance of a win = 1 / (1 + exp(-(level - slope * price over target))); ``slope`` is never below 0.

    ``covariance`` is that of (level, -slope).
    """

    level: float
    slope: float
    covariance: Array

    def wins(self, ratios: Array) -> Array:
        """The chance of a win at each price over target."""
        return _chances(self.level - self.slope * ratios)

    def between(self, ratios: Array, level: float) -> tuple[Array, Array]:
        """The ends of its interval, on the log-odds scale."""
        rows = np.column_stack([np.ones_like(ratios), ratios])
        spread = np.sqrt(((rows @ self.covariance) * rows).sum(axis=1))
        reach = normal_reach(level) * spread
        odds = self.level - self.slope * ratios
        return _chances(odds - reach), _chances(odds + reach)


def contribution(win: Array, price: Array, floor: Array | float) -> Array:
    """What a quote at that price brings on average above its floor: nothing where it is lost."""
    expected: Array = win * (price - floor)
    return expected


def by_band(ratios: Array, won: NDArray[np.bool_], level: float) -> pl.DataFrame:
    """Win rate by band of price over target: band, quotes, won, value, low, high; bands without a quote are absent."""
    place = np.searchsorted(EDGES, ratios, side="right")
    quotes = np.bincount(place, minlength=len(BANDS))
    wins = np.bincount(place[won], minlength=len(BANDS))
    low, high = wilson(wins, quotes, level)
    value = np.divide(wins, quotes, out=np.zeros(len(BANDS)), where=quotes > 0)
    found = {"band": BANDS, "quotes": quotes, "won": wins, "value": value, "low": low, "high": high}
    return pl.DataFrame(found).filter(pl.col("quotes") > 0)


def require_enough(won: NDArray[np.bool_]) -> None:
    """TooFewError, saying how many more would do, where quotes are too few for a curve."""
    quotes, lost = len(won), int((~won).sum())
    if lost == 0:
        raise TooFewError("no lost quote is recorded, so nobody can say at which price quotes are lost: record them.")
    if quotes < FEWEST_QUOTES:
        raise TooFewError(f"{quotes} quotes are too few for a curve: {FEWEST_QUOTES - quotes} more would do.")
    if min(lost, quotes - lost) < FEWEST_EITHER:
        fewer = "lost" if lost < quotes - lost else "won"
        more = FEWEST_EITHER - min(lost, quotes - lost)
        raise TooFewError(f"too few {fewer} quotes for a curve: {more} more would do.")


def win_curve(ratios: Array, won: NDArray[np.bool_]) -> WinCurve:
    """The curve by maximum likelihood, flat where dearer quotes were won no less often. TooFewError as said there."""
    require_enough(won)
    if ratios[won].max() <= ratios[~won].min():
        raise TooFewError("no quote won was dearer than a quote lost: a curve needs prices where both happened.")
    rows = np.column_stack([np.ones_like(ratios), ratios])
    level, falling = _logistic(rows, won)
    if falling > 0:
        share = float(won.mean())
        level, falling = float(np.log(share / (1 - share))), 0.0
    information = _information(rows, _chances(rows @ np.array([level, falling])))
    covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return WinCurve(level, abs(falling), covariance)


def _logistic(rows: Array, won: NDArray[np.bool_]) -> tuple[float, float]:
    """Maximum likelihood by Newton's method, each step halved until the likelihood rises.

    Written out, as the libraries that have it take two seconds to import.
    """

    def likelihood(at: Array) -> float:
        odds = rows @ at
        return float(odds[won].sum() - np.logaddexp(0, odds).sum())

    found = np.zeros(2)
    for _ in range(MOST_STEPS):
        chances = _chances(rows @ found)
        score = rows.T @ (won - chances)
        step = np.linalg.solve(_information(rows, chances), score)
        while likelihood(found + step) < likelihood(found) and np.abs(step).max() > SETTLED:
            step = step / 2
        found = found + step
        if score @ step < SETTLED:
            break
    return float(found[0]), float(found[1])


def _chances(odds: Array) -> Array:
    chances: Array = (1 + np.tanh(odds / 2)) / 2  # the logistic curve, without its overflow
    return chances


def _information(rows: Array, chances: Array) -> Array:
    information: Array = rows.T @ (rows * (chances * (1 - chances))[:, None])
    return information


def curve_points(curve: WinCurve, ratios: Array, target: float, floor: float, level: float) -> pl.DataFrame:
    """The curve within the prices seen: ratio, value, low, high, contribution (money a quote of the mean target)."""
    least, most = (float(np.quantile(ratios, share)) for share in SEEN)
    at = np.linspace(least, most, CURVE_POINTS)
    low, high = curve.between(at, level)
    win = curve.wins(at)
    earned = contribution(win, at * target, floor)
    return pl.DataFrame({"ratio": at, "value": win, "low": low, "high": high, "contribution": earned})

"""How many leak-backs chance alone makes of so many expected: limits of a funnel, p-values, and the size it takes.

Counts are Poisson; where their mean is itself uncertain or varies (``extra``, the variance of the mean over its square)
they are gamma-Poisson, whose variance is E + extra E². Arrays in, arrays out.
"""

from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from analytics.stats.intervals import Interval, tail

Floats = NDArray[np.float64]

TAILS = {"low_95": 0.025, "high_95": 0.975, "low_998": 0.001, "high_998": 0.999}
"""The limits of a funnel, by the probability of a count below each."""
_NO_EXTRA = 1e-9
DOUBLING, POWER = 2.0, 0.8
_STEP, _LARGEST = 0.1, 100.0
_LEAST_RATIO, _MOST_RATIO, _HALVINGS = 1e-6, 1e6, 60


def limit(expected: ArrayLike, probability: float, extra: ArrayLike = 0.0) -> Floats:
    """Observed over expected that chance keeps below with this probability, at least 0.

    Counts come in whole numbers; between them it is interpolated (Spiegelhalter, Statistics in Medicine 24 (2005)
    1185, appendix A.1).
    """
    mean, spread = np.broadcast_arrays(np.asarray(expected, dtype=np.float64), np.asarray(extra, dtype=np.float64))
    count = _quantile(probability, mean, spread)
    at_most, at_least = _at_most(count, mean, spread), _at_least(count, mean, spread)
    over = (at_most - probability) / (at_most + at_least - 1)
    found: Floats = np.maximum(0.0, (count - over) / mean)
    return found


def p_value(observed: ArrayLike, expected: ArrayLike, extra: ArrayLike = 0.0) -> Floats:
    """The chance of a count at least as far out, twice the smaller tail.

    Exact, not mid-P: the control of false discoveries is proved for p-values that are never too small, and
    ``interval`` at 95 % leaves out 1 just where this is under 0.05 for the same ``extra``.
    """
    count, mean = np.asarray(observed, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    spread = np.broadcast_to(np.asarray(extra, dtype=np.float64), np.broadcast(count, mean).shape)
    below, above = _at_most(count, mean, spread), _at_least(count, mean, spread)
    found: Floats = np.minimum(1.0, 2 * np.minimum(below, above))
    return found


def interval(observed: Floats, expected: Floats, error: Floats, together: float, level: float) -> Interval:
    """The true ratios of observed to expected that this count does not speak against: the tails of ``p_value``.

    The variance of the count at a mean is ``together`` times the mean, for cracks of one job, and ``error`` times its
    square, for expected is an estimate itself. With neither it is the exact Poisson interval (Garwood 1936). Not a
    number where there is no upper end: where expected is so unsure that no ratio could be ruled out.
    """

    def at(ratio: Floats) -> tuple[Floats, Floats]:
        mean = ratio * expected
        return mean, error + (together - 1) / mean

    low = _crossing(lambda ratio: _at_least(observed, *at(ratio)) > tail(level), len(expected))
    high = _crossing(lambda ratio: _at_most(observed, *at(ratio)) < tail(level), len(expected))
    return Interval(np.where(observed == 0, 0.0, low), np.where(high < _MOST_RATIO / 2, high, np.nan))


def _crossing(over: Callable[[Floats], NDArray[np.bool_]], count: int) -> Floats:
    """The ratios from which on ``over`` holds, by halving on the log scale."""
    low, high = np.full(count, np.log(_LEAST_RATIO)), np.full(count, np.log(_MOST_RATIO))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        past = over(np.exp(middle))
        low, high = np.where(past, low, middle), np.where(past, middle, high)
    found: Floats = np.exp((low + high) / 2)
    return found


@cache
def expected_needed() -> float:
    """Leak-backs that must be expected before a crew DOUBLING times as bad is past the 99.8 % limit as often as POWER.

    Of independent cracks and where the expected is known. To 0.1; the power goes up in a sawtooth, so the first size
    from which it stays above.
    """
    sizes = np.arange(_STEP, _LARGEST, _STEP)
    past = np.floor(limit(sizes, TAILS["high_998"]) * sizes)
    enough = special.pdtrc(past, DOUBLING * sizes) >= POWER
    return float(np.round(sizes[np.flatnonzero(~enough)[-1] + 1], 1))


def _at_most(count: Floats, mean: Floats, extra: Floats) -> Floats:
    """The chance of ``count`` or fewer."""
    size, share = _gamma(mean, extra)
    return _where(extra, special.betainc(size, count + 1, 1 - share), special.pdtr(count, mean))


def _at_least(count: Floats, mean: Floats, extra: Floats) -> Floats:
    """The chance of ``count`` or more."""
    size, share = _gamma(mean, extra)
    return _where(extra, special.betainc(count, size, share), special.gammainc(count, mean))


def _quantile(probability: float, mean: Floats, extra: Floats) -> Floats:
    """The smallest count that is reached or stayed under with this probability."""
    size, share = _gamma(mean, extra)
    between = _where(extra, special.nbdtrik(probability, size, 1 - share), special.pdtrik(probability, mean))
    found = np.ceil(between)  # solved to some digits only, so that a whole number may come out a hair above itself
    below = np.maximum(found - 1, 0.0)
    return np.where(_at_most(below, mean, extra) >= probability, below, found)


def _gamma(mean: Floats, extra: Floats) -> tuple[Floats, Floats]:
    """The size of the gamma-Poisson and its chance of one more, both of no use where nothing varies."""
    spread = np.where(extra > _NO_EXTRA, extra, 1.0)
    return 1 / spread, spread * mean / (1 + spread * mean)


def _where(extra: Floats, mixed: ArrayLike, poisson: ArrayLike) -> Floats:
    return np.where(extra > _NO_EXTRA, mixed, poisson)

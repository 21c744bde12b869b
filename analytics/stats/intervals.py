"""Intervals for shares, counts, survival and ratios. Arrays in, arrays out; NaN in, NaN out."""

from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.contract.bounds import require_level
from analytics.errors import LeakbackError

Floats = NDArray[np.float64]


class Interval(NamedTuple):
    """The low and the high limit, each of the shape the inputs broadcast to."""

    low: Floats
    high: Floats


def tail(level: float) -> float:
    """The probability left out on each side; LeakbackError unless the level lies between 0 and 1."""
    require_level(level)
    return (1 - level) / 2


def normal_reach(level: float) -> float:
    """Standard errors from the middle to each end of a normal interval: 1.96 at 95 %."""
    return -NormalDist().inv_cdf(tail(level))


def t_reach(level: float, freedom: ArrayLike) -> Floats:
    """The same of Student's t, for each of the degrees of freedom; infinite ones are the normal's."""
    from scipy import special  # noqa: PLC0415, slow to import

    return np.asarray(-special.stdtrit(_floats(freedom), tail(level)))


def wilson(count: ArrayLike, n: ArrayLike, level: float) -> Interval:
    """Score interval of a share, count of n (Wilson 1927); 0 to 1 where n is 0."""
    x, n = _share(count, n)
    z = normal_reach(level)
    spread = z * np.sqrt(x * _over(n - x, n) + z**2 / 4)
    low, high = (x + z**2 / 2 - spread) / (n + z**2), (x + z**2 / 2 + spread) / (n + z**2)
    return Interval(np.where(x == 0, 0.0, low), np.where(x == n, 1.0, high))


def clopper_pearson(count: ArrayLike, n: ArrayLike, level: float) -> Interval:
    """Exact interval of a share (Clopper & Pearson 1934); 0 to 1 where n is 0.

    Count and n may be real numbers: an effective sample size need not be whole.
    """
    from scipy import special  # noqa: PLC0415, slow to import

    x, n = _share(count, n)
    low = special.betaincinv(x, n - x + 1, tail(level))
    high = special.betainccinv(x + 1, n - x, tail(level))
    return Interval(np.where(x == 0, 0.0, low), np.where(x == n, 1.0, high))


def garwood(count: ArrayLike, level: float) -> Interval:
    """Exact interval of a Poisson mean (Garwood 1936); divide by the expected count for a ratio."""
    from scipy import special  # noqa: PLC0415, slow to import

    x = np.asarray(count, dtype=np.float64)
    if np.any(x < 0):
        raise LeakbackError("a count is below 0: an interval needs counts of 0 or more")
    low = special.gammaincinv(x, tail(level))
    high = special.gammainccinv(x + 1, tail(level))
    return Interval(np.where(x == 0, 0.0, low), np.asarray(high))


def log_log(survival: ArrayLike, var_log_survival: ArrayLike, level: float) -> Interval:
    """Interval of a survival on the complementary log-log scale (Kalbfleisch & Prentice 1980, section 1.4).

    ``var_log_survival`` is the variance of log survival, Greenwood's sum. NaN where survival is 0 or 1.
    """
    s, variance = np.broadcast_arrays(_floats(survival), _floats(var_log_survival))
    s = np.where((s > 0) & (s < 1), s, np.nan)
    reach = np.exp(normal_reach(level) * np.sqrt(variance) / -np.log(s))
    return Interval(s**reach, s ** (1 / reach))


def log_scale(ratio: ArrayLike, relative_error: ArrayLike, freedom: ArrayLike, level: float) -> Interval:
    """Interval of a positive ratio, even on the log scale.

    ``relative_error`` is the ratio's standard error divided by the ratio; ``freedom`` the degrees of freedom of
    Student's t, infinite for the normal.
    """
    value = _floats(ratio)
    if np.any(value <= 0):
        raise LeakbackError("a ratio is not above 0: it has no interval on the log scale")
    reach = np.exp(t_reach(level, freedom) * _floats(relative_error))
    return Interval(value / reach, value * reach)


def _floats(values: ArrayLike) -> Floats:
    return np.asarray(values, dtype=np.float64)


def _over(part: Floats, whole: Floats) -> Floats:
    """Part divided by whole, 0 where the whole is 0."""
    return np.divide(part, whole, out=np.zeros_like(part), where=whole != 0)


def _share(count: ArrayLike, n: ArrayLike) -> tuple[Floats, Floats]:
    x, whole = np.broadcast_arrays(_floats(count), _floats(n))
    if np.any((x < 0) | (x > whole)):
        raise LeakbackError("a count is below 0 or above its n: a share needs 0 <= count <= n")
    return np.where(np.isnan(whole), np.nan, x), whole

"""Groups compared on the same footing: ratios pooled over strata, and what could upset them."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.contract.bounds import USUAL_LEVEL
from analytics.stats.intervals import normal_reach

Floats = NDArray[np.float64]


class Pooled(NamedTuple):
    """A ratio pooled over strata, with its interval; NaN where no stratum tells the two groups apart."""

    ratio: float
    low: float
    high: float


def pooled_rate_ratio(
    events_a: ArrayLike, time_a: ArrayLike, events_b: ArrayLike, time_b: ArrayLike, level: float = USUAL_LEVEL
) -> Pooled:
    """Events per time watched of group a over that of group b, pooled over strata.

    Four arrays of one length, an entry a stratum (Rothman, Greenland & Lash 2008, Modern Epidemiology, ch. 15).
    """
    a, t_a, b, t_b = (np.asarray(x, dtype=np.float64) for x in (events_a, time_a, events_b, time_b))
    told = (t_a > 0) & (t_b > 0)
    a, t_a, b, t_b = a[told], t_a[told], b[told], t_b[told]
    whole = t_a + t_b
    up, down = (a * t_b / whole).sum(), (b * t_a / whole).sum()
    if not (up > 0 and down > 0):
        return Pooled(math.nan, math.nan, math.nan)
    variance = ((a + b) * t_a * t_b / whole**2).sum() / (up * down)
    return _pooled(up / down, math.sqrt(variance), level)


def pooled_rate_ratio_by_cluster(
    events: ArrayLike,
    times: ArrayLike,
    in_a: ArrayLike,
    strata: ArrayLike,
    clusters: ArrayLike,
    level: float = USUAL_LEVEL,
) -> Pooled:
    """The same from single units, whose events come together within a cluster.

    Five arrays of one length: a unit's events and time watched, whether it is of group a, its stratum and its cluster,
    both numbered from 0. The interval is widened where the influences of clusters on the log ratio, squared and summed
    (infinitesimal jackknife), say more than units that know nothing of each other; it is never narrowed.
    """
    e, t = (np.asarray(x, dtype=np.float64) for x in (events, times))
    stratum, cluster = (np.asarray(x, dtype=np.int64) for x in (strata, clusters))
    cell, size = 2 * stratum + np.where(in_a, 0, 1), 2 * (int(stratum.max(initial=-1)) + 1)
    (a, b), (t_a, t_b) = (np.bincount(cell, x, size).reshape(-1, 2).T for x in (e, t))
    found = pooled_rate_ratio(a, t_a, b, t_b, level)
    if math.isnan(found.ratio):
        return found
    whole = np.where((t_a > 0) & (t_b > 0), t_a + t_b, np.inf)
    up, down = (a * t_b / whole).sum(), (b * t_a / whole).sum()
    an_event = np.column_stack([t_b / (whole * up), -t_a / (whole * down)]).ravel()
    a_time = (a / up + b / down) / whole**2
    a_unit_of_time = np.column_stack([-t_b * a_time, t_a * a_time]).ravel()
    by_cluster = np.bincount(cluster, e * an_event[cell] + t * a_unit_of_time[cell])
    reach = math.exp(normal_reach(level) * math.sqrt((by_cluster**2).sum()))
    return Pooled(found.ratio, min(found.low, found.ratio / reach), max(found.high, found.ratio * reach))


def e_value(ratio: float) -> float:
    """How strong something unrecorded would have to be to explain a risk ratio away (VanderWeele & Ding 2017).

    The risk ratio that it would need both with the group and with the outcome; 1 where there is nothing to explain.
    """
    above = max(ratio, 1 / ratio)
    return above + math.sqrt(above * (above - 1))


def e_value_of_interval(low: float, high: float) -> float:
    """The E-value of the end of an interval that is nearest to 1; 1 where the interval holds 1."""
    return 1.0 if low <= 1 <= high else e_value(low if low > 1 else high)


def _pooled(ratio: float, error: float, level: float) -> Pooled:
    reach = math.exp(normal_reach(level) * error)
    return Pooled(float(ratio), float(ratio) / reach, float(ratio) * reach)

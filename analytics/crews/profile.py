"""Each crew's leak-backs against what its cracks make expected, and whether chance explains the difference."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.bounds import USUAL_LEVEL
from analytics.crews.limits import TAILS, expected_needed, interval, limit, p_value
from analytics.crews.shrink import ratios
from analytics.crews.spread import between_variance, clustering, drawn_in
from analytics.stats.intervals import tail
from analytics.stats.multiplicity import FALSE_DISCOVERIES, adjusted

Floats = NDArray[np.float64]

FEWEST_FOR_SPREAD = 20
"""With fewer crews one bad crew makes the spread between crews that would hide it, so chance alone decides."""
CLEARLY_WORSE = 1.25
_LINE_POINTS = 160


@dataclass(frozen=True, eq=False)
class Profile:
    """Crews against expected.

    ``rows``, one a crew, the highest shrunken ratio first: crew_id, cracks, observed, expected; ratio, low, high
    (95 %, allowing for what the limits allow for); p_value, q_value; signal (high, low or none); needed, the expected
    from which a doubling shows four times in five (infinite where none is enough), and judged, whether it would have
    shown; shrunken, shrunken_low, shrunken_high, chance_over (that the true ratio is over 1.25); the funnel's limits
    limit_* and, with the spread between crews, wide_* (each low_95, high_95, low_998, high_998). Null where nothing was
    expected. ``spread`` is the variance between crews' ratios beyond chance, ``clustering`` the variance over that of
    independent cracks, ``error`` the middle crew's relative variance of expected.
    """

    rows: pl.DataFrame
    spread: float
    clustering: float
    error: float

    @property
    def by_spread(self) -> bool:
        """Whether the limits that allow for the spread between crews decide."""
        return self.rows["ratio"].count() >= FEWEST_FOR_SPREAD

    def lines(self, upto: float) -> pl.DataFrame:
        """The limits as lines, at expected counts up to ``upto``: expected, low_95 to high_998, and wide_."""
        expected = np.geomspace(min(0.5, upto / 2), upto, _LINE_POINTS)
        extra = self.error + (self.clustering - 1) / expected
        narrow = {name: limit(expected, tail, extra) for name, tail in TAILS.items()}
        wide = {f"wide_{name}": limit(expected, tail, extra + self.spread) for name, tail in TAILS.items()}
        return pl.DataFrame({"expected": expected, **narrow, **wide})


def profile(cracks: pl.DataFrame, errors: Mapping[str, float] | None = None) -> Profile:
    """Profile the crews of ``cracks``: crew_id, observed (0 or 1) and expected, one row a crack.

    With a column job_id the limits allow for cracks of one job going together. ``errors``: the relative variance of
    each crew's expected count, which is an estimate itself; taken as exact where not given.
    """
    together = clustering(cracks) if "job_id" in cracks.columns else 1.0
    crews = cracks.group_by("crew_id").agg(
        cracks=pl.len(), observed=pl.col("observed").sum().cast(pl.Int64), expected=pl.col("expected").sum()
    )
    crews = crews.sort("expected", "observed", "cracks", "crew_id")
    known = crews.filter(pl.col("expected") > 0)
    error = np.array([(errors or {}).get(crew, 0.0) for crew in known["crew_id"]])
    observed, expected = known["observed"].to_numpy().astype(np.float64), known["expected"].to_numpy()
    counts = _Counts(observed, expected, error, together)
    rows = pl.concat([known.with_columns(**counts.columns()), crews.filter(pl.col("expected") <= 0)], how="diagonal")
    return Profile(
        rows.with_columns(
            pl.col("signal").fill_null("none"),
            pl.col("judged").fill_null(value=False),
            pl.col("needed").fill_null(expected_needed()),
        ).sort("shrunken", "crew_id", descending=[True, False], nulls_last=True),
        counts.spread,
        together,
        float(np.median(error)) if len(error) else 0.0,
    )


class _Counts:
    """The crews' counts, and the variance each has beyond chance (over its expected, squared)."""

    def __init__(self, observed: Floats, expected: Floats, error: Floats, together: float) -> None:
        self.observed, self.expected = observed, expected
        self.error, self.together = error, together
        self.extra = extra = error + (together - 1) / expected
        room = 1 - expected_needed() * error
        self.needed = np.divide(expected_needed() * together, room, out=np.full_like(room, np.inf), where=room > 0)
        self.ratio = observed / expected
        variance = 1 / expected + extra
        z = (self.ratio - 1) / np.sqrt(variance)
        self.spread = between_variance(drawn_in(z), variance)

    def columns(self) -> dict[str, pl.Series]:
        low, high = interval(self.observed, self.expected, self.error, self.together, USUAL_LEVEL)
        believed = ratios(self.observed, self.expected)
        decisive = self.extra + (self.spread if len(self.ratio) >= FEWEST_FOR_SPREAD else 0.0)
        p = p_value(self.observed, self.expected, decisive)
        signal = self._signal(adjusted(p), decisive)
        found: dict[str, Floats | NDArray[np.str_] | NDArray[np.bool_]] = {
            "ratio": self.ratio,
            "low": low,
            "high": high,
            "p_value": p,
            "q_value": adjusted(p),
            "signal": signal,
            "needed": self.needed,
            "judged": (self.expected >= self.needed) | (signal != "none"),
            "shrunken": believed.mean(),
            "shrunken_low": believed.quantile(tail(USUAL_LEVEL)),
            "shrunken_high": believed.quantile(1 - tail(USUAL_LEVEL)),
            "chance_over": believed.over(CLEARLY_WORSE),
        }
        for name, at in TAILS.items():
            found[f"limit_{name}"] = limit(self.expected, at, self.extra)
            found[f"wide_{name}"] = limit(self.expected, at, self.extra + self.spread)
        return {name: pl.Series(name, values, nan_to_null=True) for name, values in found.items()}

    def _signal(self, q: Floats, extra: Floats) -> NDArray[np.str_]:
        """High or low past the 99.8 % limit or by Benjamini and Hochberg; else none."""
        past = (self.ratio > limit(self.expected, TAILS["high_998"], extra)) | (
            self.ratio < limit(self.expected, TAILS["low_998"], extra)
        )
        stands = past | (q <= FALSE_DISCOVERIES)
        return np.where(stands & (self.ratio > 1), "high", np.where(stands & (self.ratio < 1), "low", "none"))

"""A crew over time: leak-backs gathered against expected, month by month, until chance no longer explains them.

The risk-adjusted CUSUM of Steiner et al. (Biostatistics 1 (2000) 441) in continuous time, as Biswas and Kalbfleisch
(Statistics in Medicine 27 (2008) 3382): it need not wait until a repair has held for a year, and takes watching that
ended early for what it is.
"""

from functools import cache

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import MONTHS_PER_YEAR

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

TIMES_AS_MANY = 2.0
"""The change it looks out for: twice as many leak-backs as expected."""
CREW_YEARS_A_FALSE_ALARM = 40.0
"""One false alarm in this many crew-years, 5 % in two years of one crew."""
_RUNS = 4000
_SEED = 20080815


def weights(observed: Floats, expected: Floats) -> Floats:
    """How far each period speaks for TIMES_AS_MANY leak-backs as expected: the log of the likelihood ratio."""
    found: Floats = observed * np.log(TIMES_AS_MANY) - (TIMES_AS_MANY - 1) * expected
    return found


def climb(weight: Floats, limit: float) -> tuple[Floats, Flags]:
    """The run over time (the first axis), never below 0, and where it is past ``limit``: there it starts again."""
    heights, alarms = np.empty_like(weight), np.empty(weight.shape, dtype=bool)
    height = np.zeros(weight.shape[1:])
    for place, step in enumerate(weight):
        height = np.maximum(0.0, height + step)
        heights[place], alarms[place] = height, height > limit
        height = np.where(alarms[place], 0.0, height)
    return heights, alarms


def run_limit(expected: Floats) -> float:
    """The height that a crew's run passes by chance alone once in CREW_YEARS_A_FALSE_ALARM.

    By simulation of the crew's own ``expected`` leak-backs (a month each): the share 1 - exp(-its years /
    CREW_YEARS_A_FALSE_ALARM) of chance runs passes it. Always from the same seed.
    """
    years = len(expected) / MONTHS_PER_YEAR
    chance = np.random.default_rng(_SEED).poisson(expected[:, None], (len(expected), _RUNS)).astype(np.float64)
    heights, _ = climb(weights(chance, expected[:, None]), np.inf)
    return float(np.quantile(heights.max(axis=0), np.exp(-years / CREW_YEARS_A_FALSE_ALARM), method="higher"))


def runs(monthly: pl.DataFrame) -> pl.DataFrame:
    """Each crew's run, from the first month in which anything was watched.

    ``monthly``: crew_id, month (a date), observed, expected. The same with height, limit and alarm, by crew and month.
    """
    begun = monthly.sort("crew_id", "month").filter((pl.col("expected") > 0).cum_max().over("crew_id"))
    parts = [_run(part) for _, part in begun.group_by("crew_id", maintain_order=True)]
    blank = begun.clear().with_columns(height=pl.lit(0.0), limit=pl.lit(0.0), alarm=pl.lit(value=False))
    return pl.concat([blank, *parts])


def _run(months: pl.DataFrame) -> pl.DataFrame:
    observed, expected = (months[name].to_numpy().astype(np.float64) for name in ("observed", "expected"))
    limit = _kept_limit(expected.tobytes())
    heights, alarms = climb(weights(observed, expected), limit)
    return months.with_columns(height=pl.Series(heights), limit=pl.lit(limit), alarm=pl.Series(alarms))


@cache
def _kept_limit(expected: bytes) -> float:
    return run_limit(np.frombuffer(expected))

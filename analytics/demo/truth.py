"""What is true in the invented business: why its cracks leak back, and how often.

Everything here is made up. No published rate of leak-backs was found for this work, so the figures
serve one end: an estimate made from the demo's records can be held against what is known to be true.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
import polars as pl

from analytics.contract.ages import MONTHS_PER_YEAR
from analytics.demo.arrays import Numbers

REFERENCE_WIDTH_MM, REFERENCE_LENGTH_M = 0.5, 2.0
COLD_WALL_C = 10
STEPS = ("cleaned", "dried", "water_tested")
OLDEST_MONTHS = 100 * MONTHS_PER_YEAR


@dataclass(frozen=True)
class LogHazardRatios:
    """What each feature of a crack adds to the log of its hazard; the names are those of ``FEATURES``.

    The season of the repair has no effect of its own: it works only through the water at the crack and
    the temperature of the wall.
    """

    log_width: float = 0.45
    length_over_2_m: float = 0.08
    water_damp: float = 0.30
    water_seeping: float = 0.70
    water_running: float = 0.95
    movement_seasonal: float = 0.45
    movement_growing: float = 0.80
    movement_not_known: float = 0.10
    direction_diagonal: float = 0.10
    direction_horizontal: float = 0.25
    direction_stepped: float = 0.25
    access_finished: float = 0.10
    access_tight: float = 0.15
    wall_cold: float = 0.25
    ports_wide: float = 0.40
    urethane_foam: float = -0.10
    epoxy_on_wet: float = 0.55
    cleaned: float = -0.15
    dried: float = -0.30
    water_tested: float = -0.25


@dataclass(frozen=True)
class Crew:
    """A crew, the work it gets and how it works.

    ``share`` is its weight among the crews of its branch, ``log_hazard`` what it adds beyond its habits;
    ``cleans``, ``dries``, ``tests`` and ``spaces_wide`` are the shares of its cracks where it does so;
    ``wet_pull`` shifts its walls towards wet (standard deviations); ``take`` and ``pace`` multiply its
    litres and minutes; ``joined_months`` is how long after the first day it joined.
    """

    code: str
    branch: str
    share: float
    log_hazard: float = 0.0
    cleans: float = 0.88
    dries: float = 0.75
    tests: float = 0.65
    spaces_wide: float = 0.08
    wet_pull: float = 0.0
    take: float = 1.0
    pace: float = 1.0
    joined_months: int = 0

    @property
    def habits(self) -> tuple[float, float, float]:
        """The shares of its cracks that it cleans, dries and water-tests, in the order of ``STEPS``."""
        return self.cleans, self.dries, self.tests


CREWS = (
    Crew("C01", "East", 12, cleans=0.92, tests=0.70, pace=0.97),
    Crew("C02", "East", 11, dries=0.80, take=1.05),
    Crew("C03", "East", 10, tests=0.55, pace=1.04),
    Crew("C04", "East", 9, cleans=0.84, dries=0.70),
    # Truly bad: worse than its habits explain, and its habits are bad too.
    Crew("C05", "East", 9, log_hazard=0.75, cleans=0.80, dries=0.25, tests=0.50, spaces_wide=0.45, take=0.92),
    Crew("C06", "East", 8, tests=0.72, joined_months=14),
    Crew("C07", "West", 11, dries=0.78, pace=0.95),
    # Only looks bad: it works as the others do and is sent to the wet walls.
    Crew("C08", "West", 10, dries=0.80, tests=0.70, wet_pull=2.0, pace=1.03),
    Crew("C09", "West", 9, cleans=0.90, take=1.08),
    Crew("C10", "West", 8, dries=0.72, spaces_wide=0.10),
    Crew("C11", "West", 7, tests=0.60, joined_months=26),
    # Very small: nothing can be said about it yet.
    Crew("C12", "West", 1.4, joined_months=59),
)


@dataclass(frozen=True)
class Truth:
    """A world of known truth.

    A crack's hazard (leak-backs a year) is its job's frailty, times the baseline of its age band, times the
    exponential of its log hazard. Frailty is gamma with mean 1; the cracks of one job share it. The last
    baseline holds for ever.
    """

    ratios: LogHazardRatios = LogHazardRatios()
    crews: tuple[Crew, ...] = CREWS
    band_starts_months: tuple[int, ...] = (0, 3, 12, 24, 60)
    baseline_per_year: tuple[float, ...] = (0.045, 0.034, 0.019, 0.012, 0.009)
    frailty_variance: float = 0.15
    water_shares: tuple[tuple[float, ...], ...] = (
        # dry, damp, seeping, running; in the order of the seasons from winter
        (0.46, 0.29, 0.18, 0.07),
        (0.32, 0.28, 0.26, 0.14),
        (0.58, 0.25, 0.13, 0.04),
        (0.52, 0.28, 0.15, 0.05),
    )
    season_weights: tuple[float, ...] = (0.7, 1.35, 1.1, 0.95)
    """How busy each season is, from winter."""
    win_intercept: float = 1.60
    win_slope: float = -4.0
    """Log odds of winning a job at the target price, and their change with the log of price over target."""


TRUTH = Truth()


def _is(column: str, *words: str) -> pl.Expr:
    """Whether a column holds one of the words; a blank does not."""
    return pl.any_horizontal(*(pl.col(column) == word for word in words)).fill_null(value=False)


FEATURES: Mapping[str, pl.Expr] = {
    "log_width": (pl.col("width_mm").fill_null(REFERENCE_WIDTH_MM) / REFERENCE_WIDTH_MM).log(),
    "length_over_2_m": pl.col("length_m").fill_null(REFERENCE_LENGTH_M) - REFERENCE_LENGTH_M,
    "water_damp": _is("water", "damp"),
    "water_seeping": _is("water", "seeping"),
    "water_running": _is("water", "running"),
    "movement_seasonal": _is("movement", "seasonal"),
    "movement_growing": _is("movement", "growing"),
    "movement_not_known": pl.col("movement").is_null(),
    "direction_diagonal": _is("direction", "diagonal"),
    "direction_horizontal": _is("direction", "horizontal"),
    "direction_stepped": _is("direction", "stepped"),
    "access_finished": _is("access", "finished"),
    "access_tight": _is("access", "tight"),
    "wall_cold": (pl.col("wall_temp_c") < COLD_WALL_C).fill_null(value=False),
    "ports_wide": (pl.col("port_spacing_mm") > pl.col("wall_thickness_mm")).fill_null(value=False),
    "urethane_foam": _is("resin", "urethane_foam"),
    "epoxy_on_wet": _is("resin", "epoxy") & _is("water", "seeping", "running"),
    "cleaned": pl.col("cleaned").fill_null(value=False),
    "dried": pl.col("dried").fill_null(value=False),
    "water_tested": pl.col("water_tested").fill_null(value=False),
}
"""The crack's features. A blank counts as the reference: 0.5 mm wide, 2 m long, a wall not cold, a step not done."""


def log_hazard(cracks: pl.DataFrame, truth: Truth = TRUTH) -> Numbers:
    """The log hazard ratio of each crack against a reference crack of a crew without effect.

    ``cracks`` has the columns of table cracks, and ``access`` and ``crew_id``.
    """
    table = cracks.select(**{name: feature.cast(pl.Float64) for name, feature in FEATURES.items()})
    weights = np.array([getattr(truth.ratios, name) for name in table.columns])
    crew = cracks["crew_id"].replace_strict(
        {crew.code: crew.log_hazard for crew in truth.crews}, default=0.0, return_dtype=pl.Float64
    )
    return np.asarray(table.to_numpy() @ weights + crew.to_numpy(), dtype=np.float64)


def _band_ends(truth: Truth) -> tuple[Numbers, Numbers]:
    """The ends of the age bands in years, and the baseline's cumulative hazard there; both from 0."""
    edges = np.array([*truth.band_starts_months, OLDEST_MONTHS], dtype=np.float64) / MONTHS_PER_YEAR
    return edges, np.concatenate([[0.0], np.cumsum(np.diff(edges) * np.array(truth.baseline_per_year))])


def baseline_hazard(months: float, truth: Truth = TRUTH) -> float:
    """The cumulative hazard of a reference crack up to an age in months (up to 100 years)."""
    return float(np.interp(months / MONTHS_PER_YEAR, *_band_ends(truth)))


def age_years(cumulative_hazard: Numbers, truth: Truth = TRUTH) -> Numbers:
    """The age in years at which a reference crack has gathered each cumulative hazard; infinite past 100 years."""
    edges, gathered = _band_ends(truth)
    return np.interp(cumulative_hazard, gathered, edges, right=np.inf)


def _habits(cracks: pl.DataFrame, truth: Truth) -> Numbers:
    """The habits of each crack's crew, one row a crack and one column a step; of the average crew where blank."""
    shares = np.array([crew.share for crew in truth.crews])
    habits = np.array([crew.habits for crew in truth.crews])
    rows = np.vstack([habits, shares @ habits / shares.sum()])
    places = {crew.code: place for place, crew in enumerate(truth.crews)}
    place = cracks["crew_id"].replace_strict(places, default=len(truth.crews), return_dtype=pl.Int64)
    return np.asarray(rows[place.to_numpy()], dtype=np.float64)


def true_risk(cracks: pl.DataFrame, months: float, truth: Truth = TRUTH) -> Numbers:
    """The true chance, 0 to 1, that each crack leaks back within ``months`` of its repair.

    Over the job's gamma frailty of variance v the chance is 1 - (1 + vH) ** (-1/v), with H the crack's
    cumulative hazard at frailty 1 (the Laplace transform of the gamma distribution). A step that is blank, or has
    no column, as before the work, is averaged over the crew's habit; any other blank counts as in ``FEATURES``.
    ``cracks`` has the columns of table cracks, and ``access`` and ``crew_id``.
    """
    cracks = cracks.with_columns(pl.lit(None, pl.Boolean).alias(step) for step in STEPS if step not in cracks.columns)
    gathered, variance = baseline_hazard(months, truth), truth.frailty_variance
    done = cracks.select(pl.col(*STEPS).cast(pl.Float64)).to_numpy()
    shares = np.where(np.isnan(done), _habits(cracks, truth), done)
    risk = np.zeros(cracks.height)
    for steps in product((False, True), repeat=len(STEPS)):
        weight = np.where(steps, shares, 1 - shares).prod(axis=1)
        assumed = cracks.with_columns(pl.lit(step).alias(name) for name, step in zip(STEPS, steps, strict=True))
        hazard = gathered * np.exp(log_hazard(assumed, truth))
        held = np.exp(-hazard) if variance == 0 else (1 + variance * hazard) ** (-1 / variance)
        risk += weight * (1 - held)
    return risk

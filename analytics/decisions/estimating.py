"""Litres of resin and minutes of labour that a planned crack will take, from the business's own finished cracks.

The centre is a log-linear regression on what the take-off gives (void, length, width, ports), water, access and resin,
with each crew's own pace as a shrunken effect. The interval is split-conformal: how far off the fit to the earlier
jobs was on the latest quarter of jobs says how far off the next may be, whatever the shape of the errors.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract import words
from analytics.contract.bounds import QUOTE_LEVEL, require_level
from analytics.contract.tables import ACCESSES, RESINS, WATERS
from analytics.decisions.taking_off import with_spacing
from analytics.errors import TooFewError
from analytics.stats.conformal import conformal_quantile, smearing
from analytics.stats.least_squares import Floats, LeastSquares, least_squares
from analytics.stats.slices import slices
from analytics.takeoff.ports import port_count_expr
from analytics.takeoff.volumes import void_litres_expr

Quantity = Literal["resin_litres", "labour_minutes"]
WORDS: Mapping[Quantity, str] = {"resin_litres": "litres of resin", "labour_minutes": "labour minutes"}
FEWEST_CRACKS = 100
"""75 to fit, five for each of about fifteen columns, and 25 to calibrate (below that an 80 % interval's own coverage
wanders by more than 8 points either way)."""
FEWEST_GROUP_JOBS = 100
"""A resin is calibrated by itself from this many calibrating jobs on; with fewer, together with the others."""
FEWEST_SEVERAL_JOBS = 25
"""Jobs of several cracks are calibrated by themselves from this many on, as few as cracks are: the errors of a job's
cracks cancel out in part, so that together with jobs of one crack the ends held 88 % of them, not 80."""
CALIBRATING_SHARE = 0.25
FEWEST_TELLING = 5
"""A word or a blank on fewer cracks, or on all but fewer, has no effect of its own: what all share is in the level, and
would be taken for what sets the next crack apart."""
_MEASURED = ("length_m", "width_mm", "wall_thickness_mm")
READ = ("done_on", "job_id", "crack_id", "crew_id", *_MEASURED, "port_spacing_mm", "water", "access", "resin")
"""The columns of a follow-up frame that a fit reads, beside the quantity itself."""
_CHOICES = {"water": WATERS, "access": ACCESSES, "resin": RESINS}
_NEEDED: Mapping[Quantity, tuple[str, ...]] = {"resin_litres": ("void", "resin"), "labour_minutes": ("length",)}


@dataclass(frozen=True, eq=False)
class Calibration:
    """How far off the fit was on the calibrating cracks of one group: log errors, and how many jobs they are of."""

    log_errors: Floats
    jobs: int


@dataclass(frozen=True, eq=False)
class WorkModel:
    """What was learnt of one quantity: the fit to the earlier jobs, its errors on the latest by resin and overall.

    ``means`` are the mean logs that stand in where a measurement is blank (the fit has a column for its being blank);
    ``crews`` are log effects shrunk to the company's; ``jobs`` has the log errors of the sums of whole jobs of several
    cracks; of jobs of any number, which reach further, where these are too few.
    """

    quantity: Quantity
    fit: LeastSquares
    means: Mapping[str, float]
    crews: Mapping[str, float]
    by_resin: Mapping[str, Calibration]
    overall: Calibration
    jobs: Floats
    cracks: int


def learn(quantity: Quantity, follow_up: pl.DataFrame) -> WorkModel:
    """Learn a quantity from done cracks, the latest quarter of jobs kept to calibrate on.

    Raises:
        TooFewError: with fewer than ``FEWEST_CRACKS`` finished cracks that have it recorded; says how many more.
    """
    cracks = recorded(quantity, follow_up.select(*READ, quantity))
    require_enough(quantity, cracks.height)
    first_day = _first_calibrating_day(cracks)
    # A job is one day's work, so a split by day keeps its cracks together.
    before = int((cracks["done_on"] < first_day).sum())
    earlier, latest = cracks.head(before), cracks.tail(cracks.height - before)
    means = mean_logs(earlier)
    fit, crews = fit_with_crews(design(earlier, means), logs(quantity, earlier), earlier["crew_id"])
    middle = centre(fit, crews, means, latest)
    errors = logs(quantity, latest) - middle
    groups = {resin: (latest["resin"] == resin).fill_null(value=False).to_numpy() for resin in RESINS}
    found = {resin: _calibration(errors, latest, chosen) for resin, chosen in groups.items()}
    enough = {resin: group for resin, group in found.items() if group.jobs >= FEWEST_GROUP_JOBS}
    everything = _calibration(errors, latest, np.ones(latest.height, dtype=bool))
    jobs = _job_errors(quantity, latest, np.exp(middle))
    return WorkModel(quantity, fit, means, crews, enough, everything, jobs, cracks.height)


def estimate(model: WorkModel, cracks: pl.DataFrame, level: float = QUOTE_LEVEL) -> pl.DataFrame:
    """What each planned crack will take: crack_id, low, expected, high, in the order of ``cracks``.

    ``expected`` is the mean (smeared), ``low`` and ``high`` the interval that holds ``level`` of such cracks. All null
    where a measurement it cannot do without is blank (litres: width, thickness, length and resin; minutes: length), the
    ends also where too few calibrating cracks reach so high a level.
    """
    require_level(level)
    middle = centre(model.fit, model.crews, model.means, cracks)
    reach, smear = np.full(cracks.height, np.nan), np.full(cracks.height, np.nan)
    resins = cracks["resin"].cast(pl.String)
    for resin in (None, *RESINS):
        group = model.by_resin.get(resin or "", model.overall)
        chosen = (resins.is_null() if resin is None else resins == resin).fill_null(value=False).to_numpy()
        reach[chosen], smear[chosen] = conformal_quantile(group.log_errors, level), smearing(group.log_errors)
    reach[~np.isfinite(reach)] = np.nan
    values = {"low": np.exp(middle - reach), "expected": np.exp(middle) * smear, "high": np.exp(middle + reach)}
    known = can_tell(model.quantity, cracks)
    found = cracks.select("crack_id").with_columns(**values)
    return found.with_columns(pl.when(pl.Series(known)).then(pl.col(*values).fill_nan(None)))


def estimate_jobs(model: WorkModel, cracks: pl.DataFrame, level: float = QUOTE_LEVEL) -> pl.DataFrame:
    """What each planned job will take, all its cracks together: job_id, low, expected, high, in order of job.

    Null where one of its cracks cannot be told. The ends of several cracks are calibrated on whole jobs, as the errors
    of one job's cracks neither add up nor cancel out in full; a job of one crack has the ends of its crack.
    """
    each = estimate(model, cracks, level).with_columns(
        job_id=cracks["job_id"], middle=pl.Series(np.exp(centre(model.fit, model.crews, model.means, cracks)))
    )
    sums = each.group_by("job_id").agg(
        pl.col("middle", "expected").sum(),
        pl.col("low", "high").first(),
        several=pl.len() > 1,
        told=pl.col("expected").is_not_null().all(),
    )
    reach = conformal_quantile(model.jobs, level)
    around = {"low": pl.col("middle") * np.exp(-reach), "high": pl.col("middle") * np.exp(reach)}
    ends = {name: end if np.isfinite(reach) else pl.lit(None, pl.Float64) for name, end in around.items()}
    bounded = sums.with_columns(pl.when("several").then(end).otherwise(name).alias(name) for name, end in ends.items())
    values = ("low", "expected", "high")
    return bounded.select("job_id", pl.when("told").then(pl.col(values))).sort("job_id")


def can_tell(quantity: Quantity, cracks: pl.DataFrame) -> NDArray[np.bool_]:
    """Whether each crack has what the quantity cannot be told without."""
    facts = cracks.select(void=void_litres_expr(), length="length_m", resin="resin")
    told: NDArray[np.bool_] = (
        facts.select(pl.all_horizontal(pl.col(_NEEDED[quantity]).is_not_null())).to_series().to_numpy()
    )
    return told


def recorded(quantity: Quantity, follow_up: pl.DataFrame) -> pl.DataFrame:
    """The done cracks that have the quantity recorded above 0, and what it cannot be told without; by day, then id."""
    known = pl.Series(can_tell(quantity, follow_up), dtype=pl.Boolean) & (follow_up[quantity] > 0)
    keys = follow_up.select("done_on", "job_id", "crack_id").with_row_index("row").filter(known)
    return follow_up[keys.sort("done_on", "job_id", "crack_id")["row"]]


def require_enough(quantity: Quantity, cracks: int) -> None:
    """TooFewError, saying how many more would do, where the finished cracks are too few to learn from."""
    if cracks < FEWEST_CRACKS:
        raise TooFewError(
            f"Not enough of your own jobs yet to tell {WORDS[quantity]}: recorded on "
            f"{words.counted(cracks, 'finished crack')}, {FEWEST_CRACKS - cracks} more would do."
        )


def logs(quantity: Quantity, cracks: pl.DataFrame) -> Floats:
    """Log of the quantity used on each done crack."""
    return cracks[quantity].log().to_numpy()


def mean_logs(cracks: pl.DataFrame) -> dict[str, float]:
    """Mean log of each measurement, over the cracks that have it."""
    row = cracks.select(pl.col(_MEASURED).log().mean()).row(0, named=True)
    return {name: float(value or 0.0) for name, value in row.items()}


def design(cracks: pl.DataFrame, means: Mapping[str, float]) -> Floats:
    """The regression's columns, crews aside: a level, the logs, what is blank, and a column a word but each first.

    The logs of length, width and thickness are also that of the void. A measurement that is blank counts at its mean,
    and where no port spacing is recorded the usual one counts, of finished cracks as of planned ones.
    """
    found = np.empty((cracks.height, _columns(cracks.clear(), means).shape[1]), order="F")
    for part in slices(cracks.height):
        found[part] = _columns(cracks[part], means)
    return found


def _columns(cracks: pl.DataFrame, means: Mapping[str, float]) -> Floats:
    """The columns of some of the cracks."""
    blank = [pl.col(name).is_null().alias(f"no_{name}") for name in _MEASURED]
    words = [word for name, values in _CHOICES.items() for word in _words(name, values)]
    filled = cracks.with_columns(pl.col(name).fill_null(float(np.exp(means[name]))) for name in _MEASURED)
    logs = [pl.col(_MEASURED).log(), port_count_expr().cast(pl.Float64).log().alias("ports")]
    told = with_spacing(filled).select(pl.lit(1.0).alias("level"), *logs), cracks.select(*blank, *words)
    return pl.concat(told, how="horizontal").cast(pl.Float64).to_numpy()


def _words(name: str, values: Sequence[str]) -> Iterator[pl.Expr]:
    """A column for each word but the first, and one for none."""
    said = pl.col(name).cast(pl.String)
    yield from (said.eq_missing(pl.lit(value)).alias(f"{name}_{value}") for value in values[1:])
    yield said.is_null().alias(f"no_{name}")


def _telling(x: Floats) -> NDArray[np.bool_]:
    """Which columns of the design have an effect of their own: the level, what varies, words on enough cracks."""
    yes = (x == 1).sum(axis=0)
    yes_no = ((x == 0) | (x == 1)).all(axis=0)
    tells: NDArray[np.bool_] = np.where(
        yes_no, np.minimum(yes, len(x) - yes) >= FEWEST_TELLING, (x != x[:1]).any(axis=0)
    )
    tells[0] = True
    return tells


def fit_with_crews(x: Floats, y: Floats, crew_ids: pl.Series) -> tuple[LeastSquares, dict[str, float]]:
    """The fit, and each crew's log effect shrunk by how much crews differ (best linear unbiased prediction).

    The variance between crews is by moments (analysis of variance, unequal sizes): 0 where crews differ no more than
    chance makes them. ``coefficients`` are those of ``x``, 0 where a column does not tell anything, then of the crews
    in order of name. Columns of ``x`` that do not tell anything are written over with 0, for a copy of all is large.
    """
    x[:, ~_telling(x)] = 0
    first = least_squares(x, y)
    names = crew_ids.drop_nulls().unique().sort()
    if names.is_empty():
        return first, {}
    both = np.empty((len(y), x.shape[1] + len(names)))
    members = both[:, x.shape[1] :]
    for place, name in enumerate(names):
        members[:, place] = (crew_ids == name).fill_null(value=False).to_numpy()
    within, between = _variances(first.residuals, members)
    if between <= 0:
        return first, {}
    penalty = np.concatenate([np.zeros(x.shape[1]), np.full(len(names), within / between)])
    both[:, : x.shape[1]] = x
    fit = least_squares(both, y, penalty)
    return fit, dict(zip(names, fit.coefficients[x.shape[1] :].tolist(), strict=True))


def centre(fit: LeastSquares, crews: Mapping[str, float], means: Mapping[str, float], cracks: pl.DataFrame) -> Floats:
    """The predicted log of each crack; a crew not known counts as the average one."""
    x = design(cracks, means)
    pace = [crews.get(crew, 0.0) for crew in cracks["crew_id"].to_list()]
    predicted: Floats = x @ fit.coefficients[: x.shape[1]] + np.array(pace, dtype=np.float64)
    return predicted


def _variances(residuals: Floats, members: Floats) -> tuple[float, float]:
    """The variance of residuals within crews, and between crews; ``members`` has a column of 0 and 1 a crew."""
    sizes = members.sum(axis=0)
    total, crews = float(sizes.sum()), len(sizes)
    if crews < 2 or total <= crews:  # noqa: PLR2004 - one crew does not differ
        return float(residuals.var()), 0.0
    own = (residuals @ members) / sizes
    grand = float(own @ sizes / total)
    within = float(np.square((residuals - members @ own)[members.any(axis=1)]).sum()) / (total - crews)
    spread = float(sizes @ np.square(own - grand)) - (crews - 1) * within
    return within, spread / (total - float(sizes @ sizes) / total)


def _first_calibrating_day(cracks: pl.DataFrame) -> date:
    """The day from which the latest quarter of jobs was done, of ``recorded`` cracks, in which a job's lie together."""
    days = cracks.select("done_on", "job_id").filter(pl.col("job_id").ne_missing(pl.col("job_id").shift()))["done_on"]
    day: date = days[len(days) - max(1, round(CALIBRATING_SHARE * len(days)))]
    return day


def _calibration(errors: Floats, cracks: pl.DataFrame, chosen: NDArray[np.bool_]) -> Calibration:
    own = errors[chosen]
    return Calibration(own[np.isfinite(own)], cracks["job_id"].filter(pl.Series(chosen)).n_unique())


def _job_errors(quantity: Quantity, latest: pl.DataFrame, middle: Floats) -> Floats:
    """Log errors of the sums of whole jobs of several cracks, where there are enough, else of all jobs."""
    sums = (
        latest.select("job_id", used=quantity, middle=middle)
        .group_by("job_id")
        .agg(pl.col("used", "middle").sum(), several=pl.len() > 1)
        .with_columns(error=(pl.col("used") / pl.col("middle")).log())
    )
    several = sums.filter("several")
    return (several if several.height >= FEWEST_SEVERAL_JOBS else sums)["error"].to_numpy()

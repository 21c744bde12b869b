"""Risks of planned cracks and expected leak-backs of watched ones, from the hazard model."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import horizon_days, months_of
from analytics.contract.bounds import USUAL_LEVEL, require_level, require_months
from analytics.risk.boosting import together
from analytics.risk.exposure import band_years
from analytics.risk.features import STEPS
from analytics.risk.model import HazardModel
from analytics.risk.poisson import Array
from analytics.risk.scaling import Encoded, average_row, encode
from analytics.risk.verdict import Estimate
from analytics.stats.intervals import normal_reach
from analytics.stats.slices import slices


@dataclass(frozen=True, eq=False)
class Cumulative:
    """Log of the leak-backs foreseen for each crack over a span of its age, and the variance of that log."""

    log: Array
    variance: Array

    def between(self, level: float) -> tuple[Array, Array]:
        """Lowest and highest log at this level, by the normal approximation on the log scale."""
        either_side = reach(self.variance, level)
        return self.log - either_side, self.log + either_side


def risk(
    model: HazardModel, cracks: pl.DataFrame, months: int, level: float = USUAL_LEVEL, promised: Collection[str] = ()
) -> pl.DataFrame:
    """The chance that each crack leaks back within ``months``: crack_id, risk, low, high, in the order of ``cracks``.

    Only what is known before the work is read; for the steps done on the day the crew's own habit stands in,
    except those in ``promised``, which are read from their columns. A measurement that was not recorded takes the
    average crack's value and widens the interval by what it may be; a crew never seen widens it by how crews differ.
    LeakbackError for months or a level that are none.
    """
    require_months(months)
    require_level(level)
    ahead = cumulative(model, cracks, 0.0, float(horizon_days(months)), promised)
    low, high = ahead.between(level)
    return cracks.select("crack_id").with_columns(risk=chance(ahead.log), low=chance(low), high=chance(high))


def expected(model: HazardModel, follow_up: pl.DataFrame) -> pl.DataFrame:
    """Leak-backs the model expects of each done crack over the time it was watched: crack_id, expected."""
    watched = follow_up["watched_days"].to_numpy()
    return follow_up.select("crack_id").with_columns(
        expected=np.exp(log_cumulative(model, follow_up, 0.0, watched, STEPS))
    )


def cumulative(
    model: HazardModel,
    cracks: pl.DataFrame,
    from_days: float | Array,
    to_days: float | Array,
    promised: Collection[str] = (),
) -> Cumulative:
    """Leak-backs foreseen of each crack between two ages, given that it has held to the first.

    Past the oldest age seen the last hazard is held (see ``horizon_note``). An empty span has log minus infinity.
    """
    numbers = encoded(model, cracks, promised)
    ahead = _delta(model, numbers.columns, band_years(model.edges_days, *_spans(cracks, from_days, to_days)))
    return Cumulative(ahead.log, ahead.variance + _not_known(model, numbers))


def log_cumulative(
    model: HazardModel,
    cracks: pl.DataFrame,
    from_days: float | Array,
    to_days: float | Array,
    promised: Collection[str] = (),
) -> Array:
    """The log of ``cumulative``, for who does not ask how sure it is."""
    return log_by_age(model, *_spans(cracks, from_days, to_days)) + log_by_facts(model, cracks, promised)


def log_by_facts(model: HazardModel, cracks: pl.DataFrame, promised: Collection[str] = ()) -> Array:
    """Log of each crack's hazard over that of its age alone."""
    found = np.empty(cracks.height)
    for part in slices(cracks.height):
        found[part] = encoded(model, cracks[part], promised).columns @ model.effects
    return found


def log_by_age(model: HazardModel, from_days: Array, to_days: Array) -> Array:
    """Log of what the hazards of the ages alone gather between two ages (n each)."""
    hazards, found = np.exp(model.log_hazards), np.empty(len(to_days))
    for part in slices(len(to_days)):
        found[part] = band_years(model.edges_days, from_days[part], to_days[part]) @ hazards
    with np.errstate(divide="ignore"):
        return np.log(found, out=found)


def chance(log: Array) -> NDArray[np.float64]:
    """The chance of a first leak-back of each crack whose hazard gathers to exp(log)."""
    found: Array = -np.expm1(-np.exp(log))
    return found


def average_risk(model: HazardModel, months: int, level: float = USUAL_LEVEL) -> Estimate:
    """The chance that the portfolio's average crack leaks back within ``months``."""
    years = band_years(model.edges_days, np.zeros(1), np.full(1, float(horizon_days(months))))
    ahead = _delta(model, average_row(model.scaling, model.feature_effects)[None, :], years)
    logs = (ahead.log, *ahead.between(level))
    return Estimate(*(float(chance(log)[0]) for log in logs))


def reach(variance: Array, level: float) -> Array:
    """How far an interval reaches to either side, by the normal approximation."""
    either_side: Array = normal_reach(level) * np.sqrt(variance)
    return either_side


def encoded(model: HazardModel, cracks: pl.DataFrame, promised: Collection[str] = ()) -> Encoded:
    """Cracks as the model's columns; habits stand in for the steps not promised."""
    if model.trees:
        cracks = together(model.trees, cracks)
    return encode(model.scaling, cracks, promised, model.feature_effects)


def log_average(model: HazardModel) -> float:
    """``log_by_facts`` of the average crack."""
    return float(average_row(model.scaling, model.feature_effects) @ model.effects)


def horizon_note(model: HazardModel, months: int) -> str | None:
    """What to say where the horizon lies past the oldest repair watched; None where it does not."""
    if horizon_days(months) <= model.oldest_days:
        return None
    oldest = months_of(model.oldest_days)
    return (
        f"The oldest repair was watched for {oldest:.0f} months; beyond that, to {months} months, "
        "the rate of the oldest age is held as it is."
    )


def gathered(model: HazardModel, columns: Array, years: Array) -> tuple[Array, Array]:
    """Log cumulative hazard of each row of model columns over its years in each band, and its slopes.

    Slopes (rows by parameters) are those of the log: one for the first band, a share for each later one, the columns.
    """
    by_band = years * np.exp(model.log_hazards)
    total = by_band.sum(axis=1)
    shares = np.divide(by_band, total[:, None], out=np.zeros_like(by_band), where=total[:, None] > 0)
    slopes = np.hstack([np.ones((len(columns), 1)), shares[:, 1:], columns])
    with np.errstate(divide="ignore"):
        return np.log(total) + columns @ model.effects, slopes


def _delta(model: HazardModel, columns: Array, years: Array) -> Cumulative:
    """Log cumulative hazard of each row of model columns over its years in each band, variance by the delta method."""
    log, slopes = gathered(model, columns, years)
    return Cumulative(log, ((slopes @ np.array(model.covariance)) * slopes).sum(axis=1))


def _spans(cracks: pl.DataFrame, from_days: float | Array, to_days: float | Array) -> tuple[Array, Array]:
    """Two ages a crack."""
    return np.broadcast_to(from_days, cracks.height), np.broadcast_to(to_days, cracks.height)


def _not_known(model: HazardModel, numbers: Encoded) -> Array:
    """Variance of the log hazard from measurements not recorded and crews never seen."""
    features = len(model.scaling.features)
    effects = np.where(numbers.unknown, model.feature_effects, 0.0)
    spread = np.array(model.scaling.spread).reshape(features, features)
    unmeasured: Array = ((effects @ spread) * effects).sum(axis=1)
    return unmeasured + numbers.new_crew * (1 / model.penalties.crews if model.scaling.crews else 0.0)

"""From cracks to the model's columns: centred, scaled, with each crew's habits where work is not yet done."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics.errors import LeakbackError
from analytics.risk.features import BY_NAME, FEATURES, Feature, not_recorded
from analytics.risk.poisson import Array

ENOUGH_CRACKS = 30
"""A number needs this many recorded cracks, a yes/no (also "not recorded") this many on either side: with fewer,
at the rates of this trade, a leak-back or two would make the effect."""
HABIT_CRACKS = 20
"""A crew's share of a step is shrunk to the company's as if it had done this many more cracks at that share."""
NO_EFFECT = 1e-9
YES_NO_SCALE = 0.5
"""Half of a yes/no counts as one standard deviation, so that the penalty is no lighter on rare things
(Gelman, Statistics in Medicine 27 (2008) 2865, the same rule with both sides doubled)."""


@dataclass(frozen=True)
class Scaling:
    """How a crack becomes a row of numbers, learnt from done cracks; p features, c crews.

    ``centres`` (p) and ``scales`` (p) are in each feature's own units, ``spread`` (p by p) is the covariance of
    the scaled features, ``crew_shares`` (c) are shares of the cracks, ``habits`` gives for each crew and feature
    known only once the work is done the crew's shrunken mean.
    """

    features: tuple[str, ...]
    centres: tuple[float, ...]
    scales: tuple[float, ...]
    spread: tuple[tuple[float, ...], ...]
    crews: tuple[str, ...]
    crew_shares: tuple[float, ...]
    habits: dict[str, dict[str, float]]

    @property
    def declared(self) -> tuple[Feature, ...]:
        """The features' declarations."""
        unknown = [name for name in self.features if name not in BY_NAME]
        if unknown:
            raise LeakbackError(f"the risk model was fitted on {unknown[0]!r}, which is not known here: fit it again.")
        return tuple(BY_NAME[name] for name in self.features)


@dataclass(frozen=True, eq=False)
class Rows:
    """Cracks as numbers: ``scaled`` (n by p, 0 where not recorded), ``unknown`` (n by p), ``crews`` (n by c)."""

    scaled: Array
    unknown: np.ndarray[tuple[int, int], np.dtype[np.bool_]]
    crews: Array
    new_crew: np.ndarray[tuple[int], np.dtype[np.bool_]]

    @property
    def columns(self) -> Array:
        """Features and crews side by side."""
        return np.hstack([self.scaled, self.crews])


def learn(follow_up: pl.DataFrame, features: tuple[Feature, ...] = FEATURES, *, with_crews: bool = True) -> Scaling:
    """Learn the scaling from done cracks; features without variation are left out."""
    usable = [*features, *not_recorded(features)] if features else []
    raw = read(usable, follow_up)
    recorded = ~np.isnan(raw)
    kept = [place for place, feature in enumerate(usable) if _tells(feature, raw[recorded[:, place], place])]
    usable, raw = [usable[column] for column in kept], raw[:, kept]
    centres = np.array([np.nanmean(column) for column in raw.T])
    scales = np.array([YES_NO_SCALE if f.yes_no else np.nanstd(c) for f, c in zip(usable, raw.T, strict=True)])
    scaled = np.nan_to_num((raw - centres) / scales)
    spread = scaled.T @ scaled / max(len(scaled), 1)
    crews = follow_up["crew_id"].drop_nulls()
    counts = crews.value_counts(normalize=True).sort("crew_id") if with_crews else crews.clear().value_counts()
    return Scaling(
        features=tuple(feature.name for feature in usable),
        centres=tuple(centres.tolist()),
        scales=tuple(scales.tolist()),
        spread=tuple(tuple(row) for row in spread.tolist()),
        crews=tuple(counts["crew_id"]),
        crew_shares=tuple(map(float, counts.to_series(1))),
        habits=_habits(usable, raw, centres, follow_up["crew_id"]),
    )


def rows(scaling: Scaling, cracks: pl.DataFrame, promised: Collection[str] = (), effects: Array | None = None) -> Rows:
    """Cracks as numbers. Steps done on the day are read from the columns in ``promised`` only.

    For the other steps the crew's habit stands in, the company's for a crew not known; ``effects`` (of the scaled
    features, p) say how much a step matters, so that a habit counts as the mix of hazards it makes.
    """
    declared = scaling.declared
    centres, scales = np.array(scaling.centres), np.array(scaling.scales)
    reads = [column for column, feature in enumerate(declared) if is_read(feature, promised)]
    raw = np.empty((cracks.height, len(declared)))
    raw[:, reads] = read([declared[column] for column in reads], cracks)
    crew_ids = cracks["crew_id"].cast(pl.String)
    for column in set(range(len(declared))) - set(reads):
        name, company = scaling.features[column], scaling.centres[column]
        habits = {crew: habit[name] for crew, habit in scaling.habits.items()}
        shares = crew_ids.replace_strict(habits, default=company, return_dtype=pl.Float64).to_numpy()
        raw[:, column] = _mixed(shares, effects[column] / scales[column] if effects is not None else 0.0)
    unknown = np.isnan(raw)
    places = {crew: place for place, crew in enumerate(scaling.crews)}
    one_each = np.vstack([np.eye(len(places)), np.array(scaling.crew_shares)])
    place = crew_ids.replace_strict(places, default=len(places), return_dtype=pl.Int64).to_numpy()
    scaled = np.where(unknown, 0.0, (raw - centres) / scales)
    return Rows(scaled, unknown, one_each[place], place == len(places))


def average_row(scaling: Scaling, effects: Array) -> Array:
    """The average crack's columns (p + c): average in all measurements, by the company's habits and crews."""
    done = np.array([feature.kind == "done" for feature in scaling.declared], dtype=bool)
    centres, scales = np.array(scaling.centres), np.array(scaling.scales)
    row = np.zeros(len(done))
    for column in np.flatnonzero(done):
        mixed = _mixed(centres[column], effects[column] / scales[column])
        row[column] = (mixed - centres[column]) / scales[column]
    return np.concatenate([row, scaling.crew_shares])


def is_read(feature: Feature, promised: Collection[str]) -> bool:
    """Whether the feature is read from the crack's own row, not taken from the crew's habit."""
    return feature.kind != "done" or set(feature.columns) <= set(promised)


def read(features: list[Feature], cracks: pl.DataFrame) -> Array:
    """The features' values, cracks by features, NaN where not recorded."""
    values = [feature.value.cast(pl.Float64).alias(feature.name) for feature in features]
    if not values:
        return np.empty((cracks.height, 0))
    return cracks.select(values).fill_null(float("nan")).to_numpy().astype(np.float64)


def scaled(scaling: Scaling, places: Sequence[int], cracks: pl.DataFrame) -> Array:
    """Some of the features, by their places, as they are read from the cracks (n by places), 0 where not recorded."""
    raw = read([scaling.declared[place] for place in places], cracks)
    centres, scales = np.array(scaling.centres)[places], np.array(scaling.scales)[places]
    found: Array = np.nan_to_num((raw - centres) / scales)
    return found


def _tells(feature: Feature, recorded: Array) -> bool:
    """Whether enough cracks differ in the feature for it to tell anything."""
    if feature.yes_no:
        return bool(min(recorded.sum(), (1 - recorded).sum()) >= ENOUGH_CRACKS)
    return len(recorded) >= ENOUGH_CRACKS and bool(np.ptp(recorded) > 0)


def _habits(features: list[Feature], raw: Array, company: Array, crew_ids: pl.Series) -> dict[str, dict[str, float]]:
    """Each crew's mean of what is known only once the work is done, shrunk to the company's."""
    done = [column for column, feature in enumerate(features) if feature.kind == "done"]
    habits = {}
    for crew in crew_ids.drop_nulls().unique().sort():
        own = raw[crew_ids.eq_missing(crew).to_numpy()][:, done]
        count = (~np.isnan(own)).sum(axis=0)
        shrunk = (np.nansum(own, axis=0) + HABIT_CRACKS * company[done]) / (count + HABIT_CRACKS)
        habits[crew] = {features[column].name: float(v) for column, v in zip(done, shrunk, strict=True)}
    return habits


def _mixed(share: Array, effect: float) -> Array:
    """The value of a yes/no whose hazard is that of a mix, a ``share`` yes and the rest no.

    The share itself would give the mix of the log hazards, which is lower.
    """
    if abs(effect) < NO_EFFECT:
        return share
    value: Array = np.log1p(share * np.expm1(effect)) / effect
    return value

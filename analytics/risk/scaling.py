"""From cracks to the model's columns: centred, scaled, with each crew's habits where work is not yet done."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from analytics.errors import LeakbackError
from analytics.risk.features import BY_NAME, FEATURES, Feature, not_recorded
from analytics.risk.poisson import Array, gram
from analytics.stats.slices import slices

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

    def with_spread(self, columns: Array, weights: Array) -> "Scaling":
        """With the spread of encoded ``columns`` (n by p + c) of cracks that each stand for ``weights`` (n)."""
        spread = gram(columns[:, : len(self.features)], weights) / max(weights.sum(), 1)
        return replace(self, spread=tuple(map(tuple, spread.tolist())))

    @property
    def declared(self) -> tuple[Feature, ...]:
        """The features' declarations."""
        unknown = [name for name in self.features if name not in BY_NAME]
        if unknown:
            raise LeakbackError(f"the risk model was fitted on {unknown[0]!r}, which is not known here: fit it again.")
        return tuple(BY_NAME[name] for name in self.features)


@dataclass(frozen=True, eq=False)
class Encoded:
    """Cracks as numbers: ``columns`` (n by p + c), features scaled, 0 where not recorded, then crews; and what is not.

    ``unknown`` (n by p): the features not recorded; ``new_crew`` (n): cracks of a crew never seen.
    """

    columns: Array
    unknown: np.ndarray[tuple[int, int], np.dtype[np.bool_]]
    new_crew: np.ndarray[tuple[int], np.dtype[np.bool_]]


def learn(follow_up: pl.DataFrame, features: tuple[Feature, ...] = FEATURES, *, with_crews: bool = True) -> Scaling:
    """Learn the scaling from done cracks, all but its spread; features without variation are left out."""
    usable = [*features, *not_recorded(features)] if features else []
    values = facts(usable, follow_up)
    usable = [feature for feature in usable if _tells(feature, values[feature.name])]
    values = values.select(feature.name for feature in usable)
    centres = np.array([values[feature.name].mean() for feature in usable], dtype=np.float64)
    scales = np.array([YES_NO_SCALE if f.yes_no else values[f.name].std(ddof=0) for f in usable], dtype=np.float64)
    crew_ids = follow_up["crew_id"].cast(pl.String)
    known = crew_ids.drop_nulls() if with_crews else crew_ids.clear()
    counts = known.value_counts(normalize=True).sort("crew_id")
    return Scaling(
        features=tuple(feature.name for feature in usable),
        centres=tuple(centres.tolist()),
        scales=tuple(scales.tolist()),
        spread=(),
        crews=tuple(counts["crew_id"]),
        crew_shares=tuple(map(float, counts.to_series(1))),
        habits=_habits(usable, values, centres, crew_ids),
    )


def encode(
    scaling: Scaling, cracks: pl.DataFrame, promised: Collection[str] = (), effects: Array | None = None
) -> Encoded:
    """Cracks as numbers. Steps done on the day are read from the columns in ``promised`` only.

    For the other steps the crew's habit stands in, the company's for a crew not known; ``effects`` (of the scaled
    features, p) say how much a step matters, so that a habit counts as the mix of hazards it makes.
    """
    declared = scaling.declared
    centres, scales = np.array(scaling.centres), np.array(scaling.scales)
    reads = [column for column, feature in enumerate(declared) if is_read(feature, promised)]
    columns = np.empty((cracks.height, len(declared) + len(scaling.crews)), order="F")
    raw = columns[:, : len(declared)]
    for part in slices(cracks.height):
        raw[part, reads] = read([declared[column] for column in reads], cracks[part])
    crew_ids = cracks["crew_id"].cast(pl.String)
    for column in set(range(len(declared))) - set(reads):
        name, company = scaling.features[column], scaling.centres[column]
        habits = {crew: habit[name] for crew, habit in scaling.habits.items()}
        shares = crew_ids.replace_strict(habits, default=company, return_dtype=pl.Float64).to_numpy()
        raw[:, column] = _mixed(shares, effects[column] / scales[column] if effects is not None else 0.0)
    unknown = np.isnan(raw)
    raw -= centres
    raw /= scales
    np.copyto(raw, 0.0, where=unknown)
    new = _of_crews(columns[:, len(declared) :], crew_ids, scaling.crews, scaling.crew_shares)
    return Encoded(columns, unknown, new)


def _of_crews(
    columns: Array, crew_ids: pl.Series, crews: Sequence[str], shares: Sequence[float]
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Write each crack's crew into ``columns`` (n by c), and tell where it is unknown.

    The shares of all crews stand for a crew that is unknown.
    """
    places = {crew: place for place, crew in enumerate(crews)}
    place = crew_ids.replace_strict(places, default=len(places), return_dtype=pl.Int64).to_numpy()
    new: np.ndarray[tuple[int], np.dtype[np.bool_]] = place == len(places)
    for crew in range(len(crews)):
        columns[:, crew] = place == crew
    if len(shares):
        columns[new] = shares
    return new


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
    if not features:
        return np.empty((cracks.height, 0))
    return _numbers(facts(features, cracks))


def facts(features: Sequence[Feature], cracks: pl.DataFrame) -> pl.DataFrame:
    """The features' values, a column each under its name, yes or no or a number, null where not recorded.

    Read slice by slice, for words that are told by number are written out first.
    """
    wanted = [
        (feature.value if feature.yes_no else feature.value.cast(pl.Float64).fill_nan(None)).alias(feature.name)
        for feature in features
    ]
    parts = [cracks[part].cast({pl.Enum: pl.String}).select(wanted) for part in slices(cracks.height)]
    return pl.concat(parts) if parts else cracks.select(wanted)


def _numbers(values: pl.DataFrame) -> Array:
    return values.cast(pl.Float64).fill_null(float("nan")).to_numpy().astype(np.float64, copy=False)


def scaled(scaling: Scaling, places: Sequence[int], cracks: pl.DataFrame) -> Array:
    """Some of the features, by their places, as they are read from the cracks (n by places), 0 where not recorded."""
    return standardised(scaling, facts([scaling.declared[place] for place in places], cracks))


def standardised(scaling: Scaling, values: pl.DataFrame) -> Array:
    """The model's columns of some features (n by p), from their ``facts``, 0 where not recorded."""
    places = [scaling.features.index(name) for name in values.columns]
    return _standardised(values, np.array(scaling.centres)[places], np.array(scaling.scales)[places])


def _standardised(values: pl.DataFrame, centres: Array, scales: Array) -> Array:
    found: Array = _numbers(values) - centres
    found /= scales
    np.copyto(found, 0.0, where=np.isnan(found))
    return found


def _tells(feature: Feature, values: pl.Series) -> bool:
    """Whether enough cracks differ in the feature for it to tell anything."""
    recorded = values.count()
    if feature.yes_no:
        return bool(min(values.sum(), recorded - values.sum()) >= ENOUGH_CRACKS)
    return recorded >= ENOUGH_CRACKS and values.min() != values.max()


def _habits(
    features: list[Feature], values: pl.DataFrame, company: Array, crew_ids: pl.Series
) -> dict[str, dict[str, float]]:
    """Each crew's mean of what is known only once the work is done, shrunk to the company's."""
    shrunk = [
        (pl.col(feature.name).sum() + HABIT_CRACKS * centre) / (pl.col(feature.name).count() + HABIT_CRACKS)
        for feature, centre in zip(features, company, strict=True)
        if feature.kind == "done"
    ]
    done = crew_ids.to_frame("crew_id").hstack(values.get_columns()).drop_nulls("crew_id")
    found = done.group_by("crew_id").agg(shrunk)
    return {row.pop("crew_id"): row for row in found.sort("crew_id").to_dicts()}


def _mixed(share: Array, effect: float) -> Array:
    """The value of a yes/no whose hazard is that of a mix, a ``share`` yes and the rest no.

    The share itself would give the mix of the log hazards, which is lower.
    """
    if abs(effect) < NO_EFFECT:
        return share
    value: Array = np.log1p(share * np.expm1(effect)) / effect
    return value

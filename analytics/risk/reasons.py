"""Why a crack's risk is what it is, and what would change it. Effects are those of the business's own jobs."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

import numpy as np
import polars as pl

from analytics.contract.bounds import USUAL_LEVEL
from analytics.contract.descriptions import crew_said
from analytics.contract.seasons import SEASONS
from analytics.contract.tables import RESINS
from analytics.risk.boosting import together
from analytics.risk.features import FEATURES, STEPS, TOGETHER, Subject
from analytics.risk.model import HazardModel
from analytics.risk.predict import encoded, reach, risk
from analytics.risk.scaling import average_row

CAUTION = "an association in your own jobs, not a trial"


@dataclass(frozen=True)
class Contribution:
    """A sentence fragment, and how many times the average crack's hazard it makes."""

    words: str
    multiplier: float


@dataclass(frozen=True, eq=False)
class Change:
    """Something that could be done otherwise: the columns it sets, on the cracks where it ``applies``."""

    name: str
    words: str
    sets: dict[str, pl.Expr]
    applies: pl.Expr


CHANGES = (
    *(
        Change(f"with_{name}", f"with {name.replace('_', ' ')}", {"resin": pl.lit(name)}, pl.col("resin") != name)
        for name in RESINS
    ),
    Change(
        "closer_ports",
        "with ports no further apart than the wall is thick",
        {"port_spacing_mm": pl.col("wall_thickness_mm")},
        pl.col("port_spacing_mm") > pl.col("wall_thickness_mm"),
    ),
    Change("dried", "dried first", {"dried": pl.lit(value=True)}, pl.lit(value=True)),
    Change(
        "all_steps",
        "cleaned, dried and tested with water first",
        {step: pl.lit(value=True) for step in STEPS},
        pl.lit(value=True),
    ),
    *(
        Change(
            f"in_{name}",
            f"done in {name}, the wall as warm as it is",
            {"season": pl.lit(name)},
            pl.col("season") != name,
        )
        for name in SEASONS
    ),
)


def contributions(model: HazardModel, cracks: pl.DataFrame) -> list[tuple[Contribution, ...]]:
    """For each planned crack, what sets its hazard apart from the average crack's, the largest first.

    The product of a crack's multipliers, times the average crack's hazard (``predict.average_risk``), is the
    crack's own hazard. None where the base rate is used.
    """
    cracks = together(model.trees, cracks) if model.trees else cracks
    apart = encoded(model, cracks).columns - average_row(model.scaling, model.feature_effects)
    parts = apart * model.effects
    declared = model.scaling.declared
    subjects = dict.fromkeys(feature.subject for feature in declared)
    words = [cracks.with_columns(words=_words(subject, model))["words"].to_list() for subject in subjects]
    logs = [
        parts[:, [place for place, feature in enumerate(declared) if feature.subject is subject]].sum(axis=1)
        for subject in subjects
    ]
    if model.scaling.crews:
        words.append([crew_said(crew or "not known") for crew in cracks["crew_id"]])
        logs.append(parts[:, len(declared) :].sum(axis=1))
    return [
        _largest_first(Contribution(said[row], float(np.exp(log[row]))) for said, log in zip(words, logs, strict=True))
        for row in range(cracks.height)
    ]


def what_if(model: HazardModel, cracks: pl.DataFrame, months: int, level: float = USUAL_LEVEL) -> pl.DataFrame:
    """Each planned crack's risk under each of CHANGES that applies to it.

    crack_id, change, words, risk, low, high; and ratio, ratio_low, ratio_high, the hazard over the unchanged one,
    which is often surer than the risk itself. CAUTION goes beside it.
    """
    return pl.concat([_changed(model, cracks, months, level, change) for change in CHANGES])


def _changed(model: HazardModel, cracks: pl.DataFrame, months: int, level: float, change: Change) -> pl.DataFrame:
    before = cracks.filter(change.applies)
    after = before.with_columns(**change.sets)
    promised = [column for column in change.sets if column in STEPS]
    difference = encoded(model, after, promised).columns - encoded(model, before).columns
    bands = len(model.edges_days)
    variance = ((difference @ np.array(model.covariance)[bands:, bands:]) * difference).sum(axis=1)
    log, either_side = difference @ model.effects, reach(variance, level)
    return risk(model, after, months, level, promised).select(
        "crack_id",
        pl.lit(change.name).alias("change"),
        pl.lit(change.words).alias("words"),
        "risk",
        "low",
        "high",
        ratio=np.exp(log),
        ratio_low=np.exp(log - either_side),
        ratio_high=np.exp(log + either_side),
    )


def _words(subject: Subject, model: HazardModel) -> pl.Expr:
    """What to say of each crack about this subject."""
    if subject.habit:
        return pl.lit(subject.habit)
    centres = dict(zip(model.scaling.features, model.scaling.centres, strict=True))
    features = [feature for feature in (*FEATURES, TOGETHER) if feature.subject is subject]
    holds = [f.value if f.yes_no else f.value > centres.get(f.name, np.inf) for f in features]
    said = reduce(
        lambda rest, one: pl.when(one[1]).then(pl.lit(one[0].words)).otherwise(rest),
        reversed(list(zip(features, holds, strict=True))),
        pl.lit(subject.plain),
    )
    unknown = pl.any_horizontal(feature.value.is_null() for feature in features)
    return pl.when(unknown).then(pl.lit(subject.unknown)).otherwise(said)


def _largest_first(reasons: Iterable[Contribution]) -> tuple[Contribution, ...]:
    return tuple(sorted(reasons, key=lambda reason: -abs(np.log(reason.multiplier))))

"""How much of a crew's leak-backs goes with how it works: its habits beside the others', times what they do."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.bounds import USUAL_LEVEL
from analytics.stats.intervals import normal_reach

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Practice:
    """Something a crew does or leaves out: a yes/no feature of the risk model, and which of the two is the lapse.

    ``leaves`` follows the crew's name, ``cracks`` are those with the lapse, ``advice`` is what to talk about.
    """

    feature: str
    lapse: bool
    leaves: str
    cracks: str
    advice: str


PRACTICES = (
    Practice(
        "wide_spacing",
        lapse=True,
        leaves="sets ports further apart than the wall is thick",
        cracks="cracks with ports that far apart",
        advice="Set ports no further apart than the wall is thick.",
    ),
    Practice(
        "dried",
        lapse=False,
        leaves="leaves out drying",
        cracks="cracks not dried first",
        advice="Dry the crack before injecting, or write down what stood in the way.",
    ),
    Practice(
        "water_tested",
        lapse=False,
        leaves="leaves out the water test",
        cracks="cracks not tested with water",
        advice="Test with water first: it shows that the path is open and the seal is tight.",
    ),
    Practice(
        "cleaned",
        lapse=False,
        leaves="leaves out cleaning",
        cracks="cracks not cleaned first",
        advice="Clean the strip along the crack before the seal goes on.",
    ),
)
LAPSES: Mapping[str, bool] = {practice.feature: practice.lapse for practice in PRACTICES}
"""The value of each practice's feature that is the lapse."""


@dataclass(frozen=True, eq=False)
class Effects:
    """What yes against no adds to the log hazard, by feature (k), and the covariance (k by k)."""

    features: tuple[str, ...]
    logs: Floats
    covariance: Floats

    def of(self, values: Mapping[str, bool]) -> "Effects":
        """The effects of these values of their features; those the model does not know are left out."""
        at = [place for place, feature in enumerate(self.features) if feature in values]
        sign = np.array([1.0 if values[self.features[place]] else -1.0 for place in at])
        return Effects(
            tuple(self.features[place] for place in at),
            self.logs[at] * sign,
            self.covariance[np.ix_(at, at)] * np.outer(sign, sign),
        )


@dataclass(frozen=True, eq=False)
class Habits:
    """How often the cracks of each crew have certain values, and what that makes of its leak-backs.

    ``rows``, one a crew and feature: crew_id, feature, cracks (where recorded), share, others_share; effect (times as
    many leak-backs), effect_low, effect_high; part (times as many it makes of the crew's, against the others' share),
    part_low, part_high. ``together``, one a crew: crew_id, part, part_low, part_high of all features.
    """

    rows: pl.DataFrame
    together: pl.DataFrame


def habits(cracks: pl.DataFrame, effects: Effects, values: Mapping[str, bool] = LAPSES) -> Habits:
    """The habits of the crews of ``cracks``: crew_id, expected (knowing the work done) and a column a feature.

    A feature's column is yes or no, null where not recorded: such a crack is taken to be as the others' are.
    """
    counted = effects.of(values)
    crews = cracks["crew_id"].unique().sort()
    place = cracks["crew_id"].cast(pl.Enum(crews)).to_physical().cast(pl.Int64).to_numpy()
    worked = cracks.select((pl.col(name) == values[name]).cast(pl.Int64).fill_null(_BLANK) for name in counted.features)
    digits = 3 ** np.arange(len(counted.features))
    codes = worked.to_numpy().reshape(cracks.height, len(digits)) @ digits
    worked_alike = np.sort(pl.Series(codes).unique().to_numpy())
    kind, kinds = np.searchsorted(worked_alike, codes), worked_alike[:, None] // digits % 3
    alike = _WorkedAlike(
        np.where(kinds == _BLANK, np.nan, kinds),
        _by_crew_and_kind(place, kind, None, len(crews), len(kinds)),
        _by_crew_and_kind(place, kind, cracks["expected"].to_numpy(), len(crews), len(kinds)),
        counted,
        normal_reach(USUAL_LEVEL),
    )
    return Habits(
        pl.DataFrame(
            [{"crew_id": crew} | row for at, crew in enumerate(crews) for row in alike.rows(at)], schema=_ROWS
        ).sort("crew_id", "part", "feature", descending=[False, True, False]),
        pl.DataFrame([{"crew_id": crew, **alike.part(at)} for at, crew in enumerate(crews)], schema=_TOGETHER),
    )


_TOGETHER = {"crew_id": pl.String} | dict.fromkeys(("part", "part_low", "part_high"), pl.Float64)
_ROWS = {"crew_id": pl.String, "feature": pl.String, "cracks": pl.Int64} | dict.fromkeys(
    ("share", "others_share", "effect", "effect_low", "effect_high", "part", "part_low", "part_high"), pl.Float64
)


_BLANK = 2
"""Beside 0 and 1: not recorded."""


def _by_crew_and_kind(
    crew: NDArray[np.int64], kind: NDArray[np.int64], weights: Floats | None, crews: int, kinds: int
) -> Floats:
    found = np.bincount(crew * kinds + kind, weights, minlength=crews * kinds)
    return found.reshape(crews, kinds).astype(np.float64)


@dataclass(frozen=True, eq=False)
class _WorkedAlike:
    """Cracks that were worked alike, together: ``has`` (kinds by features) is 1, 0 or NaN where not recorded.

    ``cracks`` and ``expected`` are counts and sums, crews by kinds.
    """

    has: Floats
    cracks: Floats
    expected: Floats
    effects: Effects
    reach: float

    @cached_property
    def _recorded(self) -> Floats:
        """How many cracks each feature is recorded of (crews by features)."""
        recorded: Floats = self.cracks @ ~np.isnan(self.has)
        return recorded

    @cached_property
    def _shares(self) -> tuple[Floats, Floats]:
        """How often the cracks of each crew, and those of all others, have each feature (crews by features)."""
        have, recorded = self.cracks @ np.nan_to_num(self.has), self._recorded
        with np.errstate(invalid="ignore"):
            return have / recorded, (have.sum(axis=0) - have) / (recorded.sum(axis=0) - recorded)

    def rows(self, crew: int) -> Iterable[dict[str, object]]:
        """One row a feature that this crew and the others recorded."""
        for place, feature in enumerate(self.effects.features):
            mine, others = (float(shares[crew, place]) for shares in self._shares)
            if np.isnan(mine) or np.isnan(others):
                continue
            log, error = self.effects.logs[place], np.sqrt(self.effects.covariance[place, place])
            yield {
                "feature": feature,
                "cracks": int(self._recorded[crew, place]),
                "share": mine,
                "others_share": others,
                **_estimate("effect", log, self.reach * error),
                **self.part(crew, [place]),
            }

    def part(self, crew: int, places: Sequence[int] | None = None) -> dict[str, float]:
        """Expected as worked, over expected had each crack the features as often as the others'; delta method."""
        at = list(range(len(self.effects.features))) if places is None else list(places)
        expected, slopes = self.expected[crew], np.zeros((len(self.has), len(at)))
        as_others = expected.copy()
        for column, place in enumerate(at):
            has, others = self.has[:, place], self._shares[1][crew, place]
            log = self.effects.logs[place]
            known = ~np.isnan(has) & ~np.isnan(others)
            usual = 1 + others * np.expm1(log)
            as_others[known] *= np.exp(-log * has[known]) * usual
            slopes[known, column] = has[known] - others * np.exp(log) / usual
        if not as_others.sum() > 0:
            return _estimate("part", 0.0, 0.0)
        slope = as_others @ slopes / as_others.sum()
        variance = slope @ self.effects.covariance[np.ix_(at, at)] @ slope
        return _estimate("part", np.log(expected.sum() / as_others.sum()), self.reach * np.sqrt(variance))


def _estimate(name: str, log: float, either_side: float) -> dict[str, float]:
    """A ratio from its log, with its interval."""
    ends = {"": log, "_low": log - either_side, "_high": log + either_side}
    return {f"{name}{end}": float(np.exp(value)) for end, value in ends.items()}

"""The fitted risk model as plain data, kept as JSON."""

import json
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar, Final, Literal

import numpy as np
from pydantic import ConfigDict, TypeAdapter, ValidationError

from analytics.errors import LeakbackError
from analytics.risk.poisson import Array
from analytics.risk.scaling import Scaling
from analytics.risk.verdict import Drift, Verdict

FORMAT: Final = 2
Chosen = Literal["hazard", "boosted", "base_rate"]


@dataclass(frozen=True)
class Penalties:
    """Ridge penalties on the scaled features and on the crews: an effect's prior variance is 1 / penalty."""

    features: float
    crews: float


@dataclass(frozen=True)
class HazardModel:
    """Leak-backs per crack-year by age band, times the effects of features and crews.

    ``parameters``: the log hazard of the first band, the log ratios of the later bands to it, an effect a scaled
    feature, an effect a crew; ``covariance`` in the same order. ``chosen`` is base_rate where features did not
    beat the base rate: then there are none, and every crack has the company's hazard. It is boosted where one of the
    features is learnt by trees, kept in ``trees`` as text, which else is empty.
    """

    __pydantic_config__: ClassVar[ConfigDict] = ConfigDict(allow_inf_nan=False, extra="forbid")

    format: Literal[2]
    chosen: Chosen
    as_of: date
    edges_days: tuple[int, ...]
    parameters: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    scaling: Scaling
    penalties: Penalties
    cracks: int
    leak_backs: int
    first_done_on: date
    last_done_on: date
    oldest_days: float
    notes: tuple[str, ...]
    verdict: Verdict | None
    drift: Drift | None
    trees: str
    versions: dict[str, str]

    def __post_init__(self) -> None:
        """Hold the parts to one another's sizes; ValueError otherwise."""
        features, crews = len(self.scaling.features), len(self.scaling.crews)
        size = len(self.edges_days) + features + crews
        square = [len(row) == size for row in self.covariance]
        fits = (
            len(self.parameters) == len(square) == size
            and all(square)
            and len(self.scaling.centres) == len(self.scaling.scales) == len(self.scaling.spread) == features
            and all(len(row) == features for row in self.scaling.spread)
            and len(self.scaling.crew_shares) == crews
            and bool(self.trees) == (self.chosen == "boosted")
        )
        if not fits:
            raise ValueError("the parts of the risk model do not belong together")

    @property
    def log_hazards(self) -> Array:
        """Log leak-backs per crack-year of the average crack, by age band, before crews."""
        bands = np.array(self.parameters[: len(self.edges_days)])
        bands[1:] += bands[0]
        return bands

    @property
    def effects(self) -> Array:
        """Effects on the log hazard: of each scaled feature, then of each crew."""
        return np.array(self.parameters[len(self.edges_days) :])

    @property
    def feature_effects(self) -> Array:
        """Effects of the scaled features alone."""
        return self.effects[: len(self.scaling.features)]

    def judged(self, verdict: Verdict | None, drift: Drift | None, notes: tuple[str, ...] = ()) -> "HazardModel":
        """The same model with the verdict of its check on later jobs, how the latest year compares, and notes."""
        return replace(self, verdict=verdict, drift=drift, notes=self.notes + notes)

    def with_trees(self, trees: str) -> "HazardModel":
        """The same model, whose learnt feature is read off these trees."""
        return replace(self, trees=trees, chosen="boosted")

    def to_json(self) -> str:
        """The model as JSON text; from_json gives it back exactly."""
        return _ADAPTER.dump_json(self).decode()

    @staticmethod
    def from_json(text: str) -> "HazardModel":
        """The model kept in ``text``; LeakbackError where it is damaged or newer than this program."""
        try:
            found = json.loads(text)["format"]
            if isinstance(found, int) and found > FORMAT:
                raise LeakbackError(
                    f"the kept risk model has format {found}, this program reads up to {FORMAT}: "
                    "update the program, or fit the model again."
                )
            return _ADAPTER.validate_json(text)
        except (ValueError, KeyError, TypeError) as error:  # a ValidationError is a ValueError
            raise LeakbackError(f"the kept risk model is damaged ({_first(error)}): fit it again.") from error


def _first(error: Exception) -> str:
    if isinstance(error, ValidationError):
        fault = error.errors()[0]
        place = ".".join(map(str, fault["loc"])) or "whole"
        return f"{place}: {fault['msg']}"
    return "not JSON" if isinstance(error, json.JSONDecodeError) else "no format"


_ADAPTER = TypeAdapter(HazardModel)

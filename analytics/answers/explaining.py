"""Why the cracks of a planned job have the risks they have, and what would change them."""

from dataclasses import dataclass

import polars as pl

from analytics import risk
from analytics.answers.flagging import Flags
from analytics.contract.bounds import USUAL_LEVEL
from analytics.risk import Contribution

LEAST_MULTIPLE = 1.02
"""A reason that moves the hazard by less says nothing to a reader."""
NO_MODEL = "There is no risk model yet, so there is nothing to take apart."
ONE_RATE = "One rate is used for every crack, so nothing sets this one apart."


@dataclass(frozen=True, eq=False)
class Explained:
    """One crack: its ``reasons`` against the average crack, the largest first, and what would change its risk.

    ``average`` is the average crack's risk. ``changes``: change, words, risk, low, high, ratio, ratio_low, ratio_high
    (of the hazard), and whether the ratio is ``beyond`` chance.
    """

    crack_id: str
    average: risk.Estimate
    reasons: tuple[Contribution, ...]
    changes: pl.DataFrame


@dataclass(frozen=True, eq=False)
class Explanation:
    """The cracks of a job by their number; ``said`` is why there are none, where there are none.

    ``level`` is that of all intervals.
    """

    cracks: dict[str, Explained]
    said: str
    level: float = USUAL_LEVEL

    def answer(self) -> dict[str, object]:
        """The answer for programs."""
        rows = [
            {
                "crack_id": one.crack_id,
                "average_risk": one.average.value,
                "reasons": [{"words": reason.words, "times": reason.multiplier} for reason in one.reasons],
                "changes": one.changes.to_dicts(),
            }
            for one in self.cracks.values()
        ]
        return {"rows": rows, "said": self.said, "caution": risk.CAUTION}


def explain(found: Flags, job_id: str) -> Explanation:
    """Each crack of the planned job ``job_id`` taken apart; a job that is not planned has none."""
    if found.model is None:
        return Explanation({}, NO_MODEL)
    if found.model.chosen == "base_rate":
        return Explanation({}, ONE_RATE)
    cracks = found.planned.filter(pl.col("job_id") == job_id).sort("crack_id")
    reasons = risk.contributions(found.model, cracks)
    changes = risk.what_if(found.model, cracks, found.months, found.level)
    average = risk.average_risk(found.model, found.months, found.level)
    return Explanation(
        {
            crack: Explained(crack, average, _telling(why), _of(changes, crack))
            for crack, why in zip(cracks["crack_id"], reasons, strict=True)
        },
        "",
        found.level,
    )


def _telling(reasons: tuple[Contribution, ...]) -> tuple[Contribution, ...]:
    return tuple(one for one in reasons if max(one.multiplier, 1 / one.multiplier) >= LEAST_MULTIPLE)


def _of(changes: pl.DataFrame, crack: str) -> pl.DataFrame:
    """What would change one crack's risk, the greatest help first."""
    beyond = ~pl.lit(1.0).is_between("ratio_low", "ratio_high")
    return changes.filter(pl.col("crack_id") == crack).drop("crack_id").with_columns(beyond=beyond).sort("ratio")

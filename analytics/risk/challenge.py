"""The hazard with boosted trees on top against the hazard alone."""

from datetime import date

import numpy as np
import polars as pl

from analytics.risk.boosting import from_text, grow
from analytics.risk.features import FEATURES, TOGETHER
from analytics.risk.hazard import fit
from analytics.risk.model import HazardModel
from analytics.risk.outcome import Outcome, around, error_by_job
from analytics.risk.predict import expected
from analytics.risk.verdict import Challenge

NOTHING_FOUND = "boosted trees found nothing to add to the hazard model, which is kept"


def with_trees(follow_up: pl.DataFrame, as_of: date, hazard: HazardModel) -> HazardModel | None:
    """The hazard fitted again with what trees find in the same cracks as one more feature; None where that is nothing.

    The feature is weighed by what trees of other jobs say of a crack, so that it counts for no more than it foretells.
    """
    grown = grow(follow_up, expected(hazard, follow_up)["expected"].to_numpy())
    if grown is None:
        return None
    forest, left_out = grown
    told = follow_up.with_columns(pl.Series(TOGETHER.name, left_out))
    return fit(told, as_of, hazard.penalties, (*FEATURES, TOGETHER)).with_trees(forest.to_text())


def compare(hazard: Outcome, boosted: Outcome | None, trees: str) -> Challenge:
    """Who foretold later cracks better, by the Poisson log score; the trees win past one standard error.

    ``boosted`` and ``trees`` are None and empty where trees found nothing to add.
    """
    if boosted is None:
        return Challenge("hazard", around(0.0, 0.0), 0.0, 0, NOTHING_FOUND)
    gained = hazard.leaked * np.log(boosted.expected / hazard.expected) - (boosted.expected - hazard.expected)
    leak_backs = float(hazard.leaked.sum())
    error = error_by_job(gained - gained.mean(), hazard.jobs) / leak_backs
    margin = around(float(gained.sum() / leak_backs), error)
    wins = margin.value > error
    return Challenge("boosted" if wins else "hazard", margin, error, from_text(trees).rounds, _said(wins=wins))


def _said(*, wins: bool) -> str:
    if wins:
        return (
            "the hazard with boosted trees on top foretold the later leak-backs better by more than one standard error "
            "and is used: something matters in this work that the declared features do not say"
        )
    return (
        "boosted trees on top did not foretell the later leak-backs better by more than one standard error: the hazard "
        "model alone is kept"
    )

"""From the records to a checked risk model."""

from datetime import date

import polars as pl

from analytics.errors import TooFewError
from analytics.risk.hazard import fit, require_enough
from analytics.risk.model import HazardModel, Verdict
from analytics.risk.penalty import choose
from analytics.risk.score import judge


def train(follow_up: pl.DataFrame, as_of: date) -> HazardModel:
    """Choose the penalties, check against later jobs, and fit to all: the model where it is better, else the base rate.

    A model that cannot be checked yet is not used either; ``notes`` says why. TooFewError where there are too few
    leak-backs for any.
    """
    require_enough(follow_up)
    verdict, unchecked = _verdict(follow_up, as_of)
    penalties = choose(follow_up)
    if verdict and verdict.better:
        model = fit(follow_up, as_of, penalties)
    else:
        model = fit(follow_up, as_of, penalties, features=(), with_crews=False)
    return model.judged(verdict, unchecked)


def _verdict(follow_up: pl.DataFrame, as_of: date) -> tuple[Verdict | None, tuple[str, ...]]:
    try:
        return judge(follow_up, as_of), ()
    except TooFewError as error:
        return None, (f"{error} Until then the base rate is used.",)

"""From the records to a checked risk model."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import polars as pl

from analytics.errors import TooFewError
from analytics.risk.boosting import INPUTS
from analytics.risk.challenge import NOTHING_FOUND, with_trees
from analytics.risk.drift import drift
from analytics.risk.exposure import thinned
from analytics.risk.features import FEATURES
from analytics.risk.hazard import fit, require_enough
from analytics.risk.model import HazardModel, Penalties
from analytics.risk.penalty import choose
from analytics.risk.score import judge
from analytics.risk.verdict import Verdict
from analytics.stats.threads import one_thread

READ = (
    *("crack_id", "job_id", "crew_id", "done_on", "watched_days", "leaked_back"),
    *dict.fromkeys(
        column
        for value in (*(feature.value for feature in FEATURES), *INPUTS.values())
        for column in value.meta.root_names()
    ),
)
"""The columns of a follow-up frame that the risk model reads: how each crack held, and what is known of it."""


@one_thread()
def train(follow_up: pl.DataFrame, as_of: date) -> HazardModel:
    """Choose the penalties, check against later jobs, and fit to all: the model where it is better, else the base rate.

    Where trees on top won the check, what they find in all cracks goes in as one more feature. A model that cannot be
    checked yet is not used either; ``notes`` says why. TooFewError where there are too few leak-backs for any. Cracks
    done on the last day have not been watched and are left out. Of very many cracks the penalties, the check and the
    latest year are looked at on some, by whole jobs.
    """
    watched = follow_up.filter(pl.col("watched_days") > 0)
    require_enough(watched)
    some = thinned(watched)
    # The check fits models of its own: the fit to all, made meanwhile, is begun before it is known whether it is used.
    with ThreadPoolExecutor(max_workers=1) as beside:
        checked = beside.submit(_verdict, some, as_of)
        penalties = choose(some)
        compared = beside.submit(drift, some, as_of, penalties)
        model = fit(watched, as_of, penalties)
        (verdict, notes), moved = checked.result(), compared.result()
    if not (verdict and verdict.better):
        model = _base_rate(watched, as_of, penalties)
    elif verdict.challenge and verdict.challenge.winner == "boosted":
        model, notes = _boosted(watched, as_of, model)
    return model.judged(verdict, moved, (*notes, *_how_many(some, watched)))


def _how_many(some: pl.DataFrame, watched: pl.DataFrame) -> tuple[str, ...]:
    if some.height == watched.height:
        return ()
    said = f"Checked, and compared with the latest year, on {some.height} of the {watched.height} cracks"
    return (f"{said}: whole jobs, drawn evenly over the days they were done.",)


def _base_rate(follow_up: pl.DataFrame, as_of: date, penalties: Penalties) -> HazardModel:
    return fit(follow_up, as_of, penalties, features=(), with_crews=False)


def _boosted(follow_up: pl.DataFrame, as_of: date, hazard: HazardModel) -> tuple[HazardModel, tuple[str, ...]]:
    """The hazard with what trees find in all cracks; without, and a sentence, where they find nothing any more."""
    boosted = with_trees(follow_up, as_of, hazard)
    return (boosted, ()) if boosted else (hazard, (f"In all records together, {NOTHING_FOUND}.",))


def _verdict(follow_up: pl.DataFrame, as_of: date) -> tuple[Verdict | None, tuple[str, ...]]:
    try:
        return judge(follow_up, as_of), ()
    except TooFewError as error:
        return None, (f"{error} Until then the base rate is used.",)

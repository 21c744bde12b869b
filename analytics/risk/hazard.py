"""The one hazard model: piecewise-exponential in the crack's age, ridge effects of features and crews."""

from datetime import date
from importlib.metadata import version

import polars as pl

from analytics.errors import TooFewError
from analytics.risk.design import prepare
from analytics.risk.exposure import FEWEST_IN_BAND, stand_ins
from analytics.risk.features import FEATURES, Feature
from analytics.risk.model import FORMAT, HazardModel, Penalties
from analytics.risk.poisson import Array, covariance, fit_poisson
from analytics.stats.threads import one_thread

FEWEST_LEAK_BACKS = 50
"""Ten leak-backs for each of about five parameters that no penalty can stand in for: the age bands and one effect
(ten to twenty events a parameter, Peduzzi et al., Journal of Clinical Epidemiology 49 (1996) 1373)."""
FEWEST_BANDS = 2
LIBRARIES = ("numpy", "polars", "scikit-learn")


@one_thread()
def fit(
    follow_up: pl.DataFrame,
    as_of: date,
    penalties: Penalties,
    features: tuple[Feature, ...] = FEATURES,
    *,
    with_crews: bool = True,
) -> HazardModel:
    """Fit the hazard of a leak-back to done cracks (a follow-up frame as it stood on ``as_of``).

    Without features and crews it is the base rate: one hazard an age band. TooFewError where the leak-backs are
    too few, or all of one age. Expected leak-backs equal the observed ones, in total and in every age band; of very
    many cracks some that held stand for all (``stand_ins``): then nearly so, and the covariance takes that in.
    """
    require_enough(follow_up)
    weights = stand_ins(follow_up)
    design, table = prepare(follow_up, features, with_crews=with_crews, weights=weights)
    if len(design.edges_days) < FEWEST_BANDS:
        raise TooFewError(
            "the leak-backs are all of about one age, too little to tell how the hazard changes as repairs grow older: "
            f"the risk model needs {FEWEST_IN_BAND} on either side of 3, 12, 24 or 60 months."
        )
    priors = design.penalties(penalties)
    fitted = fit_poisson(table.x, table.leaked, table.years, priors)
    spread = covariance(fitted, table.x, table.leaked, table.years, priors, table.jobs)
    first, last, oldest = follow_up.select(
        first=pl.col("done_on").min(), last=pl.col("done_on").max(), oldest=pl.col("watched_days").max()
    ).row(0)
    return HazardModel(
        format=FORMAT,
        chosen="hazard" if features or with_crews else "base_rate",
        as_of=as_of,
        edges_days=design.edges_days,
        parameters=tuple(fitted.parameters.tolist()),
        covariance=tuple(tuple(row) for row in spread.tolist()),
        scaling=design.scaling,
        penalties=penalties,
        cracks=follow_up.height,
        leak_backs=int(follow_up["leaked_back"].sum()),
        first_done_on=first,
        last_done_on=last,
        oldest_days=oldest,
        notes=(*design.notes, *_rests_on(follow_up, weights)),
        verdict=None,
        drift=None,
        trees="",
        versions={name: version(name) for name in LIBRARIES},
    )


def _rests_on(follow_up: pl.DataFrame, weights: Array) -> tuple[str, ...]:
    """A sentence where some cracks stand for all."""
    leaked = int(follow_up["leaked_back"].sum())
    held, looked_at = follow_up.height - leaked, int((weights > 0).sum()) - leaked
    if looked_at == held:
        return ()
    return (f"Fitted to all {leaked} leak-backs and {looked_at} cracks that stand for all {held} that held.",)


def require_enough(follow_up: pl.DataFrame) -> None:
    """TooFewError where there are too few leak-backs to fit anything."""
    found = int(follow_up["leaked_back"].sum())
    if found < FEWEST_LEAK_BACKS:
        raise TooFewError(
            f"{found} leak-back{'' if found == 1 else 's'} among {follow_up.height} cracks watched so far: too few "
            f"for a risk model, which needs {FEWEST_LEAK_BACKS}, {FEWEST_LEAK_BACKS - found} more."
        )

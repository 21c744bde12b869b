"""Done cracks held against what the other crews' work foretells of them, whatever months are asked about."""

from dataclasses import dataclass

import polars as pl

from analytics import crews as profiling
from analytics.contract.ages import horizon_days
from analytics.crews import Profile
from analytics.risk import FEATURES, Penalties
from analytics.risk.crossfit import CrossFit, cross_fit
from analytics.risk.jobs import job_numbers

HANDED = tuple(feature for feature in FEATURES if feature.kind == "handed")
"""What was given to the crew; how it works is left out, or it would excuse itself."""
FOLLOWED = ("crew_id", "done_on", "watched_days", "leaked_back")


@dataclass(frozen=True, eq=False)
class Held:
    """Done cracks and the ``others`` they are held against.

    ``followed`` (n): as ``FOLLOWED``. ``known`` (n): crew_id, null where the others foretell nothing of the crew, and
    job_id as a number, and more where somebody put it there.
    """

    followed: pl.DataFrame
    known: pl.DataFrame
    others: CrossFit

    @classmethod
    def of(cls, follow_up: pl.DataFrame, penalties: Penalties) -> "Held":
        """Fitted to a follow-up frame, each crew left out in turn; TooFewError where there is too little."""
        others = cross_fit(follow_up, penalties, HANDED)
        told = pl.when(~pl.col("crew_id").is_in(list(others.silent))).then("crew_id")
        known = follow_up.select(told, pl.Series("job_id", job_numbers(follow_up)))
        return cls(follow_up.select(FOLLOWED), known, others)

    def expected(self, counted: pl.DataFrame) -> pl.DataFrame:
        """``known`` with whether each crack leaked back and what is expected of it, each watched as ``counted``."""
        return self.known.with_columns(
            counted["leaked_back"].cast(pl.Int64).alias("observed"),
            pl.Series("expected", self.others.until(counted["watched_days"].to_numpy())),
        )

    def profile(self, counted: pl.DataFrame, cracks: pl.DataFrame | None = None) -> Profile:
        """The profile of the crews, each crack watched as ``counted``; ``cracks`` as ``expected``, where at hand."""
        cracks = self.expected(counted) if cracks is None else cracks
        errors = self.others.relative_variance(counted["watched_days"].to_numpy())
        return profiling.profile(cracks.filter(pl.col("crew_id").is_not_null()), errors)


def within(follow_up: pl.DataFrame, months: int) -> pl.DataFrame:
    """The same cracks, each watched for its first ``months`` only."""
    horizon = float(horizon_days(months))
    return follow_up.with_columns(
        leaked_back=pl.col("leaked_back") & (pl.col("watched_days") <= horizon),
        watched_days=pl.min_horizontal("watched_days", pl.lit(horizon)),
    )

"""Is a crew's run of callbacks bad luck or bad practice: each crew against what the other crews' work would expect."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import crews as profiling
from analytics import risk
from analytics.answers import crew_sentences as said_of
from analytics.answers.crew_beside import WITHOUT, Again, besides, without_high
from analytics.answers.crew_held import FOLLOWED, Held, within
from analytics.answers.crew_months import Alike, monthly
from analytics.answers.modelling import current
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.steady import steady_figures
from analytics.contract.ages import horizon_days
from analytics.contract.bounds import require_months
from analytics.contract.rows import Rows
from analytics.crews import Effects, Habits, Profile
from analytics.crews.limits import TAILS
from analytics.errors import TooFewError
from analytics.risk import FEATURES, HazardModel, Penalties
from analytics.risk.predict import log_by_age, log_by_facts
from analytics.risk.scaling import facts

YES_NO = tuple(feature for feature in FEATURES if feature.yes_no)
ROW = {
    "crew_id": pl.String,
    "cracks": pl.Int64,
    "observed": pl.Int64,
    **dict.fromkeys(("expected", "ratio", "low", "high"), pl.Float64),
    "signal": pl.String,
    **dict.fromkeys(("p_value", "q_value", "shrunken", "shrunken_low", "shrunken_high", "chance_over"), pl.Float64),
    **{f"{kind}_{end}": pl.Float64 for kind in ("limit", "wide") for end in TAILS},
    **dict.fromkeys(("practice_part", "after_practice", "after_practice_low", "after_practice_high"), pl.Float64),
    **WITHOUT,
    "expected_needed": pl.Float64,
    "more_cracks_needed": pl.Int64,
    "note": pl.String,
}
"""One crew: the columns of ``Crews.rows``."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """What is known of each done crack whatever months are asked about.

    ``held``: what the other crews' work foretells, with the yes/no features; ``alike``: the same of the kinds of
    cracks. ``model`` is that of all work, ``by_facts`` (n) the log of each crack's hazard by it over the hazard of its
    age.
    """

    held: Held
    alike: Alike
    model: HazardModel
    by_facts: NDArray[np.float64]

    def as_worked(self, ages_days: NDArray[np.float64]) -> NDArray[np.float64]:
        """Leak-backs expected of each crack until its age (n), knowing who did it and how."""
        return np.exp(log_by_age(self.model, np.zeros_like(ages_days), ages_days) + self.by_facts)


@dataclass(frozen=True, eq=False)
class Judged:
    """What a judgement rests on: the profile, the habits, the runs, and each crack with its crew and features."""

    profile: Profile
    practices: Habits
    runs: pl.DataFrame
    cracks: pl.DataFrame
    effects: Effects


@dataclass(frozen=True, eq=False)
class Crews:
    """Every crew against expected (``rows``, as ``ROW``), the highest shrunken ratio first.

    ``judged`` is None where there is too little to expect anything of a crew; ``said`` then tells why and what it
    would take, else how the model was come by. ``without_crew`` cracks have no crew recorded.
    """

    as_of: date | None
    months: int
    rows: pl.DataFrame
    judged: Judged | None
    said: str
    without_crew: int = 0

    def answer(self) -> dict[str, object]:
        """The contract's answer, with the practices, the alarms of the runs and how it was decided."""
        judged = self.judged
        practices = said_of.practices(self.rows, judged.practices.rows) if judged else pl.DataFrame()
        return {
            "as_of": self.as_of,
            "months": self.months,
            "said": self.said,
            "answer": said_of.opening(self.rows, self.said),
            "rows": Rows.of(steady_figures(self.rows)),
            "practices": steady_figures(practices).to_dicts(),
            "alarms": judged.runs.filter("alarm").select("crew_id", "month").to_dicts() if judged else [],
            "method": said_of.method(judged.profile, judged.runs) if judged else {},
        }


@remembered
def crews(records: Records, *, months: int = 24) -> Crews:
    """Judge every crew over the first ``months`` of each crack's life.

    Raises:
        LeakbackError: for a number of months that makes no sense.
    """
    require_months(months)
    modelled = current(records)
    if modelled.model is None or records.as_of is None:
        return _counted(records.ask("follow_up", read=FOLLOWED), records.as_of, months, modelled.said)
    try:
        fitted = _fitted(records, modelled.model.penalties)
    except TooFewError as error:
        return _counted(records.ask("follow_up", read=FOLLOWED), records.as_of, months, str(error))
    penalties = modelled.model.penalties
    return _judged(records.as_of, fitted, months, modelled.said, lambda high: _without(records, penalties, high))


@remembered
def _fitted(records: Records, penalties: Penalties) -> Fitted:
    """What the records say to expect, whatever months are asked about."""
    cracks = records.ask("follow_up", read=risk.READ)
    return fit(cracks, records.as_of or date.min, penalties)


@remembered
def _without(records: Records, penalties: Penalties, crews: tuple[str, ...]) -> Held | None:
    """As ``besides`` of all done cracks, whatever months are asked about."""
    return besides(records.ask("follow_up", read=risk.READ), penalties, crews)


def fit(follow_up: pl.DataFrame, as_of: date, penalties: Penalties) -> Fitted:
    """What the other crews' work and what all work together foretell; TooFewError where that is too little."""
    model, held = risk.fit(follow_up, as_of, penalties), Held.of(follow_up, penalties)
    with_facts = replace(held, known=held.known.hstack(facts(YES_NO, follow_up)))
    by_facts = log_by_facts(model, follow_up, risk.STEPS)
    return Fitted(with_facts, Alike.of(follow_up, held.others), model, by_facts)


def judge(follow_up: pl.DataFrame, as_of: date, penalties: Penalties, months: int = 24, said: str = "") -> Crews:
    """Judge the crews of done cracks (a follow-up frame as it stood on ``as_of``)."""
    try:
        fitted = fit(follow_up, as_of, penalties)
    except TooFewError as error:
        return _counted(follow_up, as_of, months, str(error))
    return _judged(as_of, fitted, months, said, lambda high: besides(follow_up, penalties, high))


def _judged(as_of: date, fitted: Fitted, months: int, said: str, again: Again) -> Crews:
    others, counted = fitted.held.others, within(fitted.held.followed, months)
    cracks = fitted.held.expected(counted).with_columns(
        pl.Series("expected_as_worked", fitted.as_worked(counted["watched_days"].to_numpy()))
    )
    profile = fitted.held.profile(counted, cracks)
    named = cracks.filter(pl.col("crew_id").is_not_null())
    effects = _effects(fitted.model)
    practices = profiling.habits(as_worked(named), effects)
    by_month = monthly(counted, others, fitted.alike.within(horizon_days(months)), as_of)
    judged = Judged(profile, practices, profiling.runs(by_month), named, effects)
    rows = _with_practice(without_high(profile.rows, again, months, others.apart), practices.together)
    usual = pl.DataFrame(
        {"crew_id": others.crews, "usual": others.usual(horizon_days(months))}, schema_overrides={"crew_id": pl.String}
    )
    rows = pl.concat([_with_notes(rows, profile, usual, months).select(*ROW), _plain(counted, others.silent)])
    return Crews(as_of, months, rows, judged, said, counted["crew_id"].null_count())


def as_worked(cracks: pl.DataFrame) -> pl.DataFrame:
    """Cracks with what is expected of them knowing how the work was done."""
    return cracks.with_columns(expected=pl.col("expected_as_worked"))


def _effects(model: HazardModel) -> Effects:
    """The effects of the model's features in their own units. The crews have their own terms: none excuses itself."""
    scales = np.array(model.scaling.scales)
    own = slice(len(model.edges_days), len(model.edges_days) + len(scales))
    return Effects(
        model.scaling.features,
        model.feature_effects / scales,
        np.array(model.covariance)[own, own] / np.outer(scales, scales),
    )


def _with_practice(rows: pl.DataFrame, together: pl.DataFrame) -> pl.DataFrame:
    """The ratio beside the ratio once the crew's own practice is taken into account.

    Its interval reaches, on the log scale, as far as those of the ratio and of the practice's part do together (root of
    the sum of squares). Of no leak-back at all none is left.
    """
    parts = together.select("crew_id", practice_part="part", part_low="part_low", part_high="part_high")
    ratio, part = pl.col("ratio"), pl.col("practice_part")
    down = ((ratio / pl.col("low")).log() ** 2 + (pl.col("part_high") / part).log() ** 2).sqrt()
    up = ((pl.col("high") / ratio).log() ** 2 + (part / pl.col("part_low")).log() ** 2).sqrt()
    none = ratio == 0
    return rows.join(parts, on="crew_id", how="left", maintain_order="left").select(
        *rows.columns,
        "practice_part",
        after_practice=ratio / part,
        after_practice_low=pl.when(none).then(0.0).otherwise(ratio / part * (-down).exp()),
        after_practice_high=pl.when(none).then(pl.col("high") / pl.col("part_low")).otherwise(ratio / part * up.exp()),
    )


def _with_notes(rows: pl.DataFrame, profile: Profile, usual: pl.DataFrame, months: int) -> pl.DataFrame:
    """How many more cracks it would take, and a sentence on every crew; ``usual`` as ``CrossFit.usual``.

    ``expected_needed`` is null where no number of its own cracks would do.
    """
    enough = pl.when(pl.col("needed").is_finite()).then("needed")
    needed = (enough / pl.col("usual")).ceil() - pl.col("cracks").cast(pl.Int64)
    more = pl.when(~pl.col("judged")).then(pl.max_horizontal(needed, pl.lit(0.0)).cast(pl.Int64))
    counted = rows.join(usual, on="crew_id", how="left", maintain_order="left").with_columns(
        expected_needed=enough, more_cracks_needed=more
    )
    high = counted.filter(pl.col("signal") == "high")["crew_id"].sort().to_list()
    notes = [said_of.note(row, months, high, by_spread=profile.by_spread) for row in counted.iter_rows(named=True)]
    return counted.with_columns(pl.col("cracks").cast(pl.Int64), pl.Series("note", notes, dtype=pl.String))


def _counted(follow_up: pl.DataFrame, as_of: date | None, months: int, said: str) -> Crews:
    """The crews' plain counts, where too little is known to expect anything of them."""
    notes = dict.fromkeys(follow_up["crew_id"].drop_nulls().unique(), said_of.NOTHING_EXPECTED)
    rows = _plain(within(follow_up, months), notes)
    return Crews(as_of, months, rows, None, said, follow_up["crew_id"].null_count())


def _plain(counted: pl.DataFrame, notes: Mapping[str, str]) -> pl.DataFrame:
    """The plain counts of the crews of whom nothing can be expected, each with its note."""
    counts = counted.group_by("crew_id").agg(
        cracks=pl.len().cast(pl.Int64), observed=pl.col("leaked_back").sum().cast(pl.Int64), signal=pl.lit("none")
    )
    noted = pl.DataFrame(
        {"crew_id": list(notes), "note": list(notes.values())}, schema={"crew_id": pl.String, "note": pl.String}
    )
    rows = noted.join(counts, on="crew_id", how="inner").sort("crew_id")
    return rows.with_columns(pl.lit(None, ROW[name]).alias(name) for name in ROW if name not in rows.columns).select(
        *ROW
    )

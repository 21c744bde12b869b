"""The quotes of the invented business: when, where, by which crew; before it is known which were won."""

import numpy as np
import polars as pl

from analytics.demo.arrays import Days, Flags, Numbers, Places, Words
from analytics.demo.days import AS_OF, FIRST_DAY, coming_days, day, work_days
from analytics.demo.planned import CASES
from analytics.demo.truth import Truth

ACCESS_SHARES = {"open": 0.68, "finished": 0.22, "tight": 0.10}
WARRANTY_SHARES = {60: 0.74, 24: 0.12, 120: 0.08, None: 0.06}
CRACK_SHARES = (0.63, 0.26, 0.08, 0.03)
QUOTES_PER_DONE_JOB = 1.25
REPEAT_SITE_SHARE = 0.07
TRAVEL_BLANK_SHARE = 0.02
STILL_OPEN = 24
PLANNED_WEEKS = 6


def draw_quotes(rng: np.random.Generator, truth: Truth, n_jobs: int) -> pl.DataFrame:
    """One row a quote, by day quoted, with job_id and ``place`` (its row number).

    ``kind`` is past (to be won or lost), open (no answer yet) or planned (won, work to come, one row a case of
    ``CASES``, whose number is ``case_no``). ``work_on`` is the day of the work, were it won.
    """
    kinds = np.repeat(["past", "open", "planned"], [round(n_jobs * QUOTES_PER_DONE_JOB), STILL_OPEN, len(CASES)])
    quoted_on, work_on = _dates(rng, truth, kinds)
    case_no = np.where(kinds == "planned", np.arange(len(kinds)) - (kinds != "planned").sum(), -1)
    n_cracks = rng.choice(len(CRACK_SHARES), size=len(kinds), p=CRACK_SHARES) + 1
    n_cracks = np.where(case_no >= 0, np.array([len(case.cracks) for case in CASES])[case_no], n_cracks)
    quotes = pl.DataFrame(
        {"kind": kinds, "quoted_on": quoted_on, "work_on": work_on, "case_no": case_no, "n_cracks": n_cracks}
    ).sort("quoted_on", maintain_order=True)
    return (
        quotes.with_columns(*_sites(rng, truth, quotes["kind"].to_numpy() != "planned"), *_terms(rng, quotes.height))
        .with_row_index("place")
        .with_columns(job_id=pl.format("J-{}", (pl.col("place") + 1).cast(pl.String).str.zfill(4)))
        .pipe(_with_crews, rng, truth)
    )


def _dates(rng: np.random.Generator, truth: Truth, kinds: Words) -> tuple[Days, Days]:
    """The day quoted and the day of the work. The first open quote is of the last day, which sets the as-of date."""
    past, open_, planned = ((kinds == kind).sum() for kind in ("past", "open", "planned"))
    as_of, first = day(AS_OF), day(FIRST_DAY)
    work = work_days(rng, past, truth.season_weights)
    waits = np.floor(4 + rng.gamma(2.5, 8, past))
    # Nothing was quoted before the first day: the earliest work waited less.
    most = (work - first).astype(np.float64)
    waits = np.where(waits > most, np.floor(rng.random(past) * most), waits).astype("timedelta64[D]")
    ages = np.concatenate([[0], rng.integers(1, 25, open_ - 1)]).astype("timedelta64[D]")
    quoted = np.concatenate([work - waits, as_of - ages, as_of - rng.integers(2, 40, planned)])
    coming = coming_days(rng, open_ + planned, PLANNED_WEEKS)
    return quoted, np.concatenate([work, coming])


def _sites(rng: np.random.Generator, truth: Truth, may_repeat: Flags) -> list[pl.Series]:
    """The site of each job and its branch, larger branches having more; some sites are an earlier job's."""
    count = len(may_repeat)
    repeats = (rng.random(count) < REPEAT_SITE_SHARE) & may_repeat & (np.arange(count) > 0)
    site_no = np.cumsum(~repeats)
    earlier = np.ceil(rng.random(count) * site_no).astype(np.int64)
    site_no = np.where(repeats, np.maximum(earlier, 1), site_no)
    shares = np.array([crew.share for crew in truth.crews])
    branches = rng.choice([crew.branch for crew in truth.crews], size=site_no.max() + 1, p=shares / shares.sum())
    names = pl.Series("site_id", site_no).cast(pl.String).str.zfill(4)
    return [("S-" + names).alias("site_id"), pl.Series("branch", branches[site_no])]


def _terms(rng: np.random.Generator, count: int) -> list[pl.Series]:
    """What the office writes beside a quote: access, travel and warranty."""
    warranties = list(WARRANTY_SHARES)
    months = rng.choice(len(warranties), size=count, p=list(WARRANTY_SHARES.values()))
    travel = np.rint(10 + rng.gamma(3, 14, count))
    noted = rng.random(count) >= TRAVEL_BLANK_SHARE
    return [
        pl.Series("access", rng.choice(list(ACCESS_SHARES), size=count, p=list(ACCESS_SHARES.values()))),
        pl.Series("travel_minutes", np.where(noted, travel, np.nan), nan_to_null=True),
        pl.Series("warranty_months", [warranties[place] for place in months], dtype=pl.Int64),
    ]


def _with_crews(quotes: pl.DataFrame, rng: np.random.Generator, truth: Truth) -> pl.DataFrame:
    """Each job's crew: one of its branch that had joined by the day of the work, and its place in ``truth.crews``."""
    joined = day(FIRST_DAY).astype("datetime64[M]") + np.array([c.joined_months for c in truth.crews], "timedelta64[M]")
    there = quotes["work_on"].to_numpy()[:, None] >= joined.astype("datetime64[D]")
    branch = quotes["branch"].to_numpy()[:, None] == np.array([crew.branch for crew in truth.crews])
    weights = np.array([crew.share for crew in truth.crews]) * there * branch
    crew_no = _one_of(rng, weights)
    codes = np.array([crew.code for crew in truth.crews])
    return quotes.with_columns(pl.Series("crew_no", crew_no), pl.Series("crew_id", codes[crew_no]))


def _one_of(rng: np.random.Generator, weights: Numbers) -> Places:
    """The column chosen in each row, by weight."""
    heaps = weights.cumsum(axis=1)
    chosen: Places = (heaps <= rng.random(len(weights))[:, None] * heaps[:, -1:]).sum(axis=1)
    return chosen

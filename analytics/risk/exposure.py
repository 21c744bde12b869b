"""Watched time cut into age bands: each crack's years watched and its leak-back, band by band."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import polars as pl

from analytics.contract.ages import DAYS_PER_YEAR, horizon_days
from analytics.risk.poisson import Array
from analytics.stats.sampling import evenly
from analytics.stats.slices import slices

AGE_EDGES_MONTHS = (0, 3, 12, 24, 60)
"""Where the age bands begin; the last one has no end."""
CUT_MONTHS = (24, 36, 60)
"""The band in which most of what is still to come lies is cut in two, where both halves have enough leak-backs: within
a band the hazard is taken to be level, so what falls there is foretold too high for the older half."""
FEWEST_IN_HALF = 30
"""With fewer the halves' own chance would outweigh what the cut tells."""
FEWEST_IN_BAND = 5
"""A band with fewer leak-backs is joined to its neighbour: its own hazard would be chance alone, unless even so few
tell it apart."""
BY_CHANCE = 0.025
"""So seldom, on either side, a band has as few or as many leak-backs as it has where both bands have one hazard."""

TOO_HIGH = " At that rate some would have come by now, so what is foretold for these ages is too high."

MOST_CHECKED = 40_000
"""Cracks with thousands of leak-backs: more would settle neither how far effects are shrunk nor whether to trust them
any better."""

MOST_OTHERS, OTHERS_A_LEAK_BACK = 200_000, 4
"""Cracks that held, of which a fit looks at so many at least, and at so many for each that leaked back: with four the
errors of small effects are those of all cracks times the root of 5/4 at most (Ury, Biometrics 31 (1975) 643), of strong
ones a little more."""


def band_years(edges_days: Sequence[float], from_days: Array | float, to_days: Array) -> Array:
    """Years that each span of ages (n) has in each age band (n by bands); the last band has no end."""
    begins = np.array(edges_days, dtype=np.float64)
    ends = np.append(begins[1:], np.inf)
    days = np.minimum(to_days[:, None], ends) - np.maximum(np.asarray(from_days)[..., None], begins)
    years: Array = np.maximum(days, 0.0) / DAYS_PER_YEAR
    return years


def by_band(follow_up: pl.DataFrame, edges_days: Sequence[float], entry: str | None = None) -> tuple[Array, Array]:
    """Years each crack was watched in each age band, and whether it leaked back there: cracks by bands, both.

    ``follow_up`` needs watched_days and leaked_back; a column ``entry`` gives the age in days at which watching
    began (0 where not given). A leak-back belongs to the band its day closes: (from, to].
    """
    watched = follow_up["watched_days"].to_numpy().astype(np.float64)
    years = band_years(edges_days, follow_up[entry].to_numpy().astype(np.float64) if entry else 0.0, watched)
    ends = np.append(np.array(edges_days[1:], dtype=np.float64), np.inf)
    last = (years > 0) & (watched[:, None] <= ends) & follow_up["leaked_back"].to_numpy()[:, None]
    return years, last.astype(np.float64)


def thinned(follow_up: pl.DataFrame, most: int = MOST_CHECKED) -> pl.DataFrame:
    """About ``most`` cracks where there are more: whole jobs, drawn evenly over the days they were done."""
    if follow_up.height <= most:
        return follow_up
    jobs = follow_up.group_by("job_id").agg(pl.col("done_on").first()).sort("done_on", "job_id")
    chosen = jobs[evenly(jobs.height, round(jobs.height * most / follow_up.height))]
    return follow_up.join(chosen, on="job_id", how="semi", maintain_order="left")


def stand_ins(follow_up: pl.DataFrame) -> Array:
    """How many cracks each stands for in a fit: itself; of very many that held each k-th for k, the rest for none.

    Every crack that leaked back is looked at. The k-th are taken in the order of their days, then of their names.
    """
    known = follow_up.select("done_on", "crack_id", "leaked_back").with_row_index("row")
    held = known.filter(~pl.col("leaked_back")).drop("leaked_back")
    leaked = follow_up.height - held.height
    every = held.height // max(MOST_OTHERS, OTHERS_A_LEAK_BACK * leaked)
    if every <= 1:
        return np.ones(follow_up.height)
    chosen = held.sort("done_on", "crack_id").gather_every(every)["row"]
    weights = follow_up["leaked_back"].to_numpy().astype(np.float64)
    weights[chosen.to_numpy()] = held.height / len(chosen)
    return weights


def age_days(day: date) -> pl.Expr:
    """Days from each repair to ``day``."""
    return (pl.lit(day) - pl.col("done_on")).dt.total_days().cast(pl.Float64)


def as_seen_on(follow_up: pl.DataFrame, day: date) -> pl.DataFrame:
    """What the records would have said on ``day``: later jobs gone, watching and leak-backs cut at that day."""
    known = age_days(day)
    return follow_up.filter(pl.col("done_on") < day).with_columns(
        leaked_back=pl.col("leaked_back") & (pl.col("watched_days") <= known),
        watched_days=pl.min_horizontal("watched_days", known),
    )


def seen_after(follow_up: pl.DataFrame, day: date) -> pl.DataFrame:
    """The cracks still watched after ``day``, with entry_days, their age that day (0 for later jobs)."""
    return follow_up.with_columns(entry_days=pl.max_horizontal(age_days(day), pl.lit(0.0))).filter(
        pl.col("watched_days") > pl.col("entry_days")
    )


def settle_bands(follow_up: pl.DataFrame) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """The age bands these records can carry, by their first day, and a sentence for each that was joined."""
    months = sorted({*AGE_EDGES_MONTHS, *CUT_MONTHS} if _tells_halves(follow_up) else AGE_EDGES_MONTHS)
    edges = list(map(horizon_days, months))
    watched, notes = follow_up.select("watched_days", "leaked_back"), []
    while len(edges) > 1:
        years, leaked = np.zeros(len(edges)), np.zeros(len(edges))
        for part in slices(watched.height):
            for total, each in zip((years, leaked), by_band(watched[part], edges), strict=True):
                np.add(total, each.sum(axis=0), out=total)
        few = np.flatnonzero(leaked < FEWEST_IN_BAND).tolist()
        thin = [band for band in few if not _stands_alone(years, leaked, band)]
        if not thin:
            break
        band = thin[-1]
        if years[band] > 0:
            ages = f"from {months[band]} to {months[band + 1]}" if band + 1 < len(months) else f"over {months[band]}"
            notes.append(
                f"Leak-backs at ages {ages} months: {leaked[band]:.0f}, fewer than {FEWEST_IN_BAND}; "
                "these ages share the rate of those next to them."
                + (TOO_HIGH if not leaked[band] and _is_apart(years, leaked, band) else "")
            )
        del edges[max(band, 1)], months[max(band, 1)]
    return tuple(edges), tuple(notes)


def _tells_halves(follow_up: pl.DataFrame) -> bool:
    """Whether there are enough leak-backs on either side of the cut."""
    begin, cut, end = map(horizon_days, CUT_MONTHS)
    ages = follow_up.filter("leaked_back")["watched_days"]
    halves = (ages.is_between(first, last, closed="right").sum() for first, last in ((begin, cut), (cut, end)))
    return bool(min(halves) >= FEWEST_IN_HALF)


def _stands_alone(years: Array, leaked: Array, band: int) -> bool:
    """Whether a thin band's few leak-backs tell its hazard apart; of one without any no hazard can be told."""
    return bool(leaked[band]) and _is_apart(years, leaked, band)


def _is_apart(years: Array, leaked: Array, band: int) -> bool:
    """Whether a band's hazard differs from its neighbour's by more than chance.

    With one hazard each leak-back of the two is the band's by its share of the years: binomial (Przyborowski and
    Wilenski, Biometrika 31 (1940) 313; from memory).
    """
    from scipy import special  # noqa: PLC0415, slow to import

    other = band - 1 if band else 1
    count, both = int(leaked[band]), int(leaked[band] + leaked[other])
    share = years[band] / (years[band] + years[other])
    so_few, so_many = special.bdtr(count, both, share), special.bdtrc(count - 1, both, share)
    return bool(min(so_few, so_many) < BY_CHANCE)

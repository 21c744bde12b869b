"""The cracks of the invented business as its crews measured them, complete and rounded as on a tape or a gauge."""

import numpy as np
import polars as pl
from scipy.special import ndtr

from analytics.contract.tables import DIRECTIONS, WATERS
from analytics.demo.arrays import Days, Numbers, Places, Words
from analytics.demo.days import season_place
from analytics.demo.truth import STEPS, Truth

THICKNESS_SHARES = {200: 0.55, 250: 0.33, 300: 0.12}
DIRECTION_SHARES = (0.82, 0.166, 0.009, 0.005)
MOVEMENT_SHARES = {"still": 0.46, "seasonal": 0.125, "growing": 0.005, None: 0.41}
FOAM_SHARES = {"dry": 0.18, "damp": 0.42, "seeping": 0.80, "running": 0.92}
"""The share injected with foam by water: the wetter the wall, the likelier foam."""
SAME_JOB_CORRELATION = 0.5
STEPPED_OR_HORIZONTAL_OFFSET_SHARE, OFFSET_SHARE = 0.25, 0.025
SHORTEST_SPACING_MM = 100


def draw_cracks(rng: np.random.Generator, truth: Truth, quotes: pl.DataFrame) -> pl.DataFrame:
    """One row a crack of ``quotes`` (in their order) with crack_id, all that is measured, the resin and the steps.

    Only movement is ever blank (not known); other blanks come later, when the records are written.
    """
    place = np.repeat(np.arange(quotes.height), quotes["n_cracks"].to_numpy())
    jobs = quotes.select("job_id", "crew_no", "crew_id", "work_on", "access", "kind", "case_no", "place")
    cracks = jobs[place].with_columns(crack_no=pl.int_range(1, pl.len() + 1).over("job_id"))
    days, crew_no = cracks["work_on"].to_numpy(), cracks["crew_no"].to_numpy()
    water = _water(rng, truth, place, days, crew_no)
    direction = rng.choice(DIRECTIONS, size=len(place), p=DIRECTION_SHARES)
    movements = list(MOVEMENT_SHARES)
    movement_no = rng.choice(len(movements), size=len(place), p=list(MOVEMENT_SHARES.values()))
    return cracks.with_columns(
        *_sizes(rng, len(place)),
        pl.Series("direction", direction),
        pl.Series("water", water),
        pl.Series("movement", [movements[no] for no in movement_no], dtype=pl.String),
        pl.Series("offset_mm", _offsets(rng, direction)),
        pl.Series("resin", _resins(rng, water)),
        pl.Series("wall_temp_c", _wall_temperatures(rng, days)),
        crack_id=pl.format("{}-{}", "job_id", "crack_no"),
    ).with_columns(*_practice(rng, truth, crew_no), port_spacing_mm=_spacing(rng, truth, crew_no))


def _sizes(rng: np.random.Generator, count: int) -> list[pl.Series]:
    """Length to the centimetre; width to 0.01 mm under 1 mm, by gauge, and to 0.1 mm above, by rule; the wall."""
    width_mm = np.clip(rng.lognormal(np.log(0.5), 0.75, count), 0.03, 8)
    thickness = rng.choice(list(THICKNESS_SHARES), size=count, p=list(THICKNESS_SHARES.values()))
    return [
        pl.Series("length_m", np.clip(rng.gamma(6, 0.33, count), 0.3, 4.5).round(2)),
        pl.Series("width_mm", np.where(width_mm < 1, width_mm.round(2), width_mm.round(1))),
        pl.Series("wall_thickness_mm", thickness.astype(np.float64)),
    ]


def _water(rng: np.random.Generator, truth: Truth, place: Places, days: Days, crew_no: Places) -> Words:
    """Water at each crack: by season, alike within a job, wetter for a crew that is sent to the wet walls."""
    job = rng.standard_normal(place.max() + 1)[place]
    own = rng.standard_normal(len(place))
    pull = np.array([crew.wet_pull for crew in truth.crews])[crew_no]
    wetness = ndtr(np.sqrt(SAME_JOB_CORRELATION) * job + np.sqrt(1 - SAME_JOB_CORRELATION) * own + pull)
    steps = np.array(truth.water_shares).cumsum(axis=1)[:, :-1]
    water: Words = np.array(WATERS)[(wetness[:, None] > steps[season_place(days)]).sum(axis=1)]
    return water


def _offsets(rng: np.random.Generator, direction: Words) -> Numbers:
    """Mostly none; to half a millimetre. Horizontal and stepped cracks have one more often."""
    moved = np.isin(direction, ["horizontal", "stepped"])
    share = np.where(moved, STEPPED_OR_HORIZONTAL_OFFSET_SHARE, OFFSET_SHARE)
    size = np.clip(np.rint(2 * rng.lognormal(np.log(1.5), 0.6, len(direction))) / 2, 0.5, 12)
    return np.where(rng.random(len(direction)) < share, size, 0.0)


def _resins(rng: np.random.Generator, water: Words) -> Words:
    """Foam where the wall is wet, mostly: the reason why the resins' plain shares cannot be compared."""
    share = np.select([water == word for word in FOAM_SHARES], list(FOAM_SHARES.values()))
    return np.where(rng.random(len(water)) < share, "urethane_foam", "epoxy")


def _wall_temperatures(rng: np.random.Generator, days: Days) -> Numbers:
    """A basement wall's surface in whole degrees: coldest in mid February, about 8 °C, warmest in mid August."""
    day_of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.float64)
    mean: Numbers = 13 - 5 * np.cos(2 * np.pi * (day_of_year - 45) / 365.25)
    return np.rint(mean + rng.normal(0, 2, len(days)))


def _practice(rng: np.random.Generator, truth: Truth, crew_no: Places) -> list[pl.Series]:
    """Whether each step was done, by the crew's habit."""
    habits = np.array([crew.habits for crew in truth.crews])[crew_no]
    done = rng.random(habits.shape) < habits
    return [pl.Series(name, done[:, place]) for place, name in enumerate(STEPS)]


def _spacing(rng: np.random.Generator, truth: Truth, crew_no: Places) -> pl.Expr:
    """Ports about the wall's thickness apart, or 50 to 100 mm further where the crew spaces them wide."""
    wide = rng.random(len(crew_no)) < np.array([crew.spaces_wide for crew in truth.crews])[crew_no]
    step = np.where(wide, rng.integers(1, 3, len(crew_no)) * 50, -25 * rng.integers(0, 3, len(crew_no)))
    return pl.max_horizontal(pl.col("wall_thickness_mm") + pl.Series(step), pl.lit(float(SHORTEST_SPACING_MM)))

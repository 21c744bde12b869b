"""Invented records of which it is known whether a column changed its meaning: the level are left in peace.

A hundred worlds where time is short; LEAKBACK_WORLDS sets how many.
"""

import os
from collections.abc import Iterator

import numpy as np
import polars as pl
import pytest

from analytics.decisions.changed_meaning import FACTOR, jumps
from analytics.stats.multiplicity import FALSE_DISCOVERIES

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "100"))
YEARS = 6
GALLON_L = 3.785411784
"""Litres in a US gallon (NIST Handbook 44, Appendix C)."""


def worlds(jobs_a_year: int, drift: float) -> Iterator[pl.DataFrame]:
    """Records of lopsided, two-humped, heaped and level columns; each median truly moves by ``drift`` a year."""
    for seed in range(WORLDS):
        rng = np.random.default_rng(seed)
        count = jobs_a_year * YEARS
        year = np.repeat(np.arange(2020, 2020 + YEARS), jobs_a_year)
        moved = drift ** (year - 2020)
        humped = np.where(rng.random(count) < 0.7, rng.lognormal(-1, 0.2, count), rng.lognormal(1, 0.2, count))
        yield pl.DataFrame(
            {
                "year": year,
                "resin_litres": rng.lognormal(-0.5, 0.9, count) * moved,
                "width_mm": humped * moved,
                "wall_thickness_mm": rng.choice([200.0, 200.0, 250.0, 300.0], count),
                "labour_minutes": rng.exponential(120, count) * moved,
                "wall_temp_c": rng.normal(12, 5, count),
            }
        )


@pytest.mark.parametrize("jobs_a_year", [20, 60, 400])
def test_level_records_are_left_in_peace(jobs_a_year: int) -> None:
    alarms = sum(bool(jumps(world)[0]) for world in worlds(jobs_a_year, 1.05))
    assert alarms <= max(1, FALSE_DISCOVERIES * WORLDS)


def test_at_the_margin_itself_false_alarms_stay_as_rare_as_promised() -> None:
    """Every year's median truly moves by the whole factor: the least favourable of all level worlds."""
    alarms = sum(bool(jumps(world)[0]) for world in worlds(60, FACTOR))
    assert alarms <= 2 * FALSE_DISCOVERIES * WORLDS + 2


@pytest.mark.parametrize(("jobs_a_year", "found"), [(60, 0.75), (200, 0.97)])
def test_gallons_for_litres_are_found(jobs_a_year: int, found: float) -> None:
    changed = pl.when(pl.col("year") >= 2023).then(pl.col("resin_litres") / GALLON_L).otherwise("resin_litres")
    hits = sum(
        ("resin_litres", 2023) in {(jump.column, jump.year_after) for jump in jumps(world.with_columns(changed))[0]}
        for world in worlds(jobs_a_year, 1.02)
    )
    assert hits >= found * WORLDS

"""Invented businesses: what foam would have done on the same cracks is what is true, and seasons do nothing.

Six of each where time is short; LEAKBACK_WORLDS sets how many.
"""

import os

import polars as pl
import pytest

from analytics.contract.tables import RESINS
from analytics.demo import TRUTH, true_risk, world
from analytics.demo.days import AS_OF
from analytics.risk import Compared, Strata, fit_lightly
from tests.worlds import follow_up

WORLDS = int(os.environ.get("LEAKBACK_WORLDS", "6"))
MANY = 50
JOBS = 4000
MONTHS, LEVEL = 24, 0.95
SEASONS = ("winter", "spring", "summer", "autumn")


@pytest.fixture(scope="module")
def compared() -> pl.DataFrame:
    """A row a business and choice: resin and season contrasts with their truth."""
    rows = []
    for seed in range(1, WORLDS + 1):
        cracks = follow_up(world(TRUTH, seed, JOBS))
        model = fit_lightly(cracks, AS_OF)
        resins = Compared(Strata(cracks, "resin", RESINS, ("water",)), model, MONTHS, LEVEL)
        seasons = Compared(Strata(cracks, "season", SEASONS, ("water", "resin")), model, MONTHS, LEVEL)
        kept = resins.strata.of_told(*cracks.columns)
        true = [true_risk(kept.with_columns(resin=pl.lit(resin)), MONTHS).mean() for resin in RESINS]
        plain = resins.rows()["crude"].to_list()
        mine = resins.contrasts().with_columns(true=pl.lit(true[1] - true[0]), plain=pl.lit(plain[1] - plain[0]))
        others = seasons.contrasts().with_columns(true=pl.lit(0.0), plain=pl.lit(None, pl.Float64))
        rows.append(pl.concat([mine, others]).with_columns(seed=pl.lit(seed)))
    return pl.concat(rows)


def _held(rows: pl.DataFrame) -> float:
    return rows.filter(pl.col("true").is_between("difference_low", "difference_high")).height / rows.height


def test_the_difference_between_resins_is_the_true_one(compared: pl.DataFrame) -> None:
    foam = compared.filter(choice="urethane_foam")
    assert _held(foam) >= (0.9 if WORLDS >= MANY else 0.8)
    off = foam.select((pl.col("difference") - pl.col("true")).mean() / pl.col("true").mean()).item()
    assert abs(off) < (0.1 if WORLDS >= MANY else 0.3), off


def test_plain_rates_have_the_sign_wrong_or_hide_it(compared: pl.DataFrame) -> None:
    foam = compared.filter(choice="urethane_foam")
    assert (foam["true"] < -0.02).all()
    assert foam.select((pl.col("plain") > pl.col("true") / 2).mean()).item() >= 0.9


def test_seasons_that_do_nothing_are_said_to_do_nothing(compared: pl.DataFrame) -> None:
    seasons = compared.filter(pl.col("choice").is_in(SEASONS))
    assert _held(seasons) >= (0.92 if WORLDS >= MANY else 0.85)
    named = seasons.group_by("seed").agg(pl.col("stands").any())["stands"].to_numpy().mean()
    assert named <= (0.1 if WORLDS >= MANY else 0.34), named


def test_the_check_without_a_model_has_the_same_sign(compared: pl.DataFrame) -> None:
    foam = compared.filter(choice="urethane_foam")
    assert foam.select(((pl.col("pooled") < 1) == (pl.col("ratio") < 1)).mean()).item() >= 0.9

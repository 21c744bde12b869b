"""Reasons multiply up to the relative risk, and changes are risks of the changed crack."""

import numpy as np
import polars as pl
import pytest

from analytics.risk import HazardModel, average_risk, contributions, fit, risk, what_if
from analytics.risk.features import STEPS


def test_the_product_of_the_multipliers_times_the_average_is_the_cracks_own(
    model: HazardModel, world: pl.DataFrame
) -> None:
    cracks = world.sample(50, seed=2)
    average = -np.log1p(-average_risk(model, 24).value)
    own = -np.log1p(-risk(model, cracks, 24)["risk"].to_numpy())
    products = [np.prod([one.multiplier for one in reasons]) for reasons in contributions(model, cracks)]
    assert np.array(products) * average == pytest.approx(own, rel=1e-9)


def test_the_largest_reason_comes_first(model: HazardModel, world: pl.DataFrame) -> None:
    for reasons in contributions(model, world.head(20)):
        sizes = [abs(np.log(one.multiplier)) for one in reasons]
        assert sizes == sorted(sizes, reverse=True)


def test_reasons_say_what_is_so(model: HazardModel, world: pl.DataFrame) -> None:
    crack = world.head(1).with_columns(
        width_mm=pl.lit(4.0),
        water=pl.lit("running"),
        resin=pl.lit("epoxy"),
        movement=pl.lit(None, pl.String),
        season=pl.lit("winter"),
        crew_id=pl.lit("C-5"),
    )
    reasons = {one.words: one.multiplier for one in contributions(model, crack)[0]}
    assert reasons["a wider crack than most"] > 1
    assert reasons["water running from the crack"] > 1
    assert reasons["crew C-5"] > 1.2
    assert {"epoxy", "epoxy on a wet crack", "movement not known", "done in winter"} <= reasons.keys()
    assert "how often this crew dries the crack first" in reasons
    assert len(reasons) == 17


@pytest.mark.parametrize(("width_mm", "words"), [(0.1, "a hairline crack"), (0.3, "a narrower crack than most")])
def test_width_is_one_reason(model: HazardModel, world: pl.DataFrame, width_mm: float, words: str) -> None:
    reasons = contributions(model, world.head(1).with_columns(width_mm=pl.lit(width_mm)))[0]
    assert words in {one.words for one in reasons}


def test_a_rare_word_is_said_even_where_the_model_cannot_tell_it(model: HazardModel, world: pl.DataFrame) -> None:
    rare = world.with_columns(season=pl.when(pl.col("season") == "summer").then(pl.lit("spring")).otherwise("season"))
    untold = fit(rare, model.as_of, model.penalties)
    assert "season_summer" not in untold.scaling.features
    summer = contributions(untold, world.head(1).with_columns(season=pl.lit("summer")))[0]
    assert "done in summer" in {one.words for one in summer}


def test_a_change_is_the_risk_of_the_changed_crack(model: HazardModel, world: pl.DataFrame) -> None:
    epoxy = world.filter((pl.col("resin") == "epoxy") & (pl.col("port_spacing_mm") > pl.col("wall_thickness_mm")))[:3]
    changed = what_if(model, epoxy, 24)
    by_hand = {
        "with_urethane_foam": risk(model, epoxy.with_columns(resin=pl.lit("urethane_foam")), 24),
        "closer_ports": risk(model, epoxy.with_columns(port_spacing_mm=pl.col("wall_thickness_mm")), 24),
        "dried": risk(model, epoxy.with_columns(dried=pl.lit(value=True)), 24, promised=("dried",)),
        "all_steps": risk(model, epoxy.with_columns(**dict.fromkeys(STEPS, pl.lit(value=True))), 24, promised=STEPS),
    }
    for name, risks in by_hand.items():
        assert changed.filter(change=name).select("crack_id", "risk", "low", "high").equals(risks)


def test_the_ratio_is_that_of_the_hazards(model: HazardModel, world: pl.DataFrame) -> None:
    cracks = world.head(10)
    before = risk(model, cracks, 24).select("crack_id", before=-(1 - pl.col("risk")).log())
    changed = what_if(model, cracks, 24).join(before, on="crack_id")
    after = -(1 - changed["risk"]).log()
    assert changed["ratio"].to_numpy() == pytest.approx((after / changed["before"]).to_numpy())
    assert (changed["ratio_low"] < changed["ratio_high"]).all()


def test_a_change_that_changes_nothing_is_not_offered(model: HazardModel, world: pl.DataFrame) -> None:
    close = world.filter(pl.col("port_spacing_mm") <= pl.col("wall_thickness_mm"), season="spring")[:1]
    offered = set(what_if(model, close.with_columns(resin=pl.lit(None, pl.String)), 24)["change"])
    assert offered == {"dried", "all_steps", "in_winter", "in_summer", "in_autumn"}


def test_the_base_rate_gives_no_reasons(world: pl.DataFrame, model: HazardModel) -> None:
    base = fit(world, model.as_of, model.penalties, (), with_crews=False)
    assert contributions(base, world.head(2)) == [(), ()]
    assert set(what_if(base, world.head(2), 24)["ratio"]) == {1.0}

"""What a repair costs: one price worked by hand, and what is said where a rate is missing."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from analytics.answers.modelling import current
from analytics.answers.records import Records
from analytics.decisions.costs import (
    LeakBackCost,
    Quantities,
    RatesInForce,
    costs,
    each_leak_back,
    leak_back_cost,
    leak_back_share,
    margin_at,
    price_floor,
    price_target,
    shared,
    to_cent,
    warranty_days,
    warranty_leak_backs,
    warranty_note,
    worked,
)
from analytics.decisions.scenarios import leak_backs
from analytics.errors import LeakbackError
from analytics.risk import HazardModel, cumulative, risk

AMOUNTS = {
    "labour_hour": "69.50",
    "travel_hour": "47.00",
    "epoxy_litre": "44.50",
    "urethane_foam_litre": "38.50",
    "port_each": "1.80",
    "seal_kg": "9.80",
}
RATES = RatesInForce({item: Decimal(amount) for item, amount in AMOUNTS.items()}, ("USD",))
WORK = Quantities(
    resin="epoxy", litres=0.6, ports=13, labour_minutes=130, seal_kg=0.75, travel_minutes=22.5, set_up_minutes=7.5
)


def without(item: str) -> RatesInForce:
    return RatesInForce({name: amount for name, amount in RATES.amounts.items() if name != item}, ("USD",))


def test_one_price_by_hand_to_the_cent() -> None:
    # A job of two cracks: 45 min of travel and 15 min of setting up are shared. By hand:
    # resin 0.6 L x 44.50 = 26.70; 13 ports x 1.80 = 23.40; seal 0.75 kg x 9.80 = 7.35: material 57.45
    # labour (130 + 7.5) min x 69.50 / 60 = 159.2708...; travel 22.5 min x 47 / 60 = 17.625: direct 234.3458...
    # leak-backs 0.08 x 310.00 = 24.80: floor 259.1458... ; target 259.1458... / 0.62 = 417.9771...
    found = costs(WORK, RATES)
    assert (found.resin, found.ports, found.seal) == (Decimal("26.70"), Decimal("23.40"), Decimal("7.35"))
    assert found.material == Decimal("57.45")
    assert to_cent(found.labour) == Decimal("159.27")
    assert found.travel == Decimal("17.625")
    assert to_cent(found.direct) == Decimal("234.35")
    floor = price_floor(found.direct, leak_back_share(Decimal("0.08"), Decimal("310.00")))
    assert to_cent(floor) == Decimal("259.15")
    assert to_cent(price_target(floor, Decimal("0.38"))) == Decimal("417.98")


def test_the_price_is_the_one_that_fractions_give() -> None:
    rate = {item: Fraction(amount) for item, amount in AMOUNTS.items()}
    direct = (
        Fraction(6, 10) * rate["epoxy_litre"]
        + 13 * rate["port_each"]
        + Fraction(3, 4) * rate["seal_kg"]
        + Fraction(1375, 10) / 60 * rate["labour_hour"]
        + Fraction(225, 10) / 60 * rate["travel_hour"]
    )
    target = (direct + Fraction(8, 100) * 310) / (1 - Fraction(38, 100))
    floor = price_floor(costs(WORK, RATES).direct, Decimal("24.80"))
    assert abs(Fraction(price_target(floor, Decimal("0.38"))) - target) < Fraction(1, 10**20)


def test_shares_of_a_job_add_up_to_the_job() -> None:
    assert [shared(45, cracks) * cracks for cracks in (1, 2, 3, 5)] == pytest.approx([45] * 4)
    with pytest.raises(LeakbackError, match="0 cracks"):
        shared(45, 0)


def test_the_margin_of_the_target_is_the_margin_asked_for() -> None:
    for margin in (Decimal(0), Decimal("0.35"), Decimal("0.95")):
        target = price_target(Decimal(100), margin)
        assert margin_at(target, Decimal(100)) == pytest.approx(margin)
    assert margin_at(Decimal(80), Decimal(100)) == Decimal("-0.25")


@pytest.mark.parametrize("item", ["labour_hour", "travel_hour", "epoxy_litre", "port_each", "seal_kg"])
def test_a_missing_rate_is_named(item: str) -> None:
    with pytest.raises(LeakbackError, match=rf"\({item}\) is in force: load one, or set it"):
        costs(WORK, without(item))


def test_what_is_not_used_needs_no_rate() -> None:
    work = Quantities(resin="epoxy", litres=0.6, ports=13, labour_minutes=130)
    rates = RatesInForce({item: RATES.amounts[item] for item in ("labour_hour", "epoxy_litre", "port_each")}, ("USD",))
    found = costs(work, rates)
    assert found.seal is None
    assert found.travel == 0
    assert found.material == found.resin + found.ports


def test_two_currencies_are_not_added_up() -> None:
    frame = pl.DataFrame(
        {
            "item": ["labour_hour", "port_each"],
            "amount": [Decimal(60), Decimal(2)],
            "currency": ["USD", "CAD"],
            "effective_on": [date(2024, 1, 1)] * 2,
        }
    )
    with pytest.raises(LeakbackError, match="CAD and USD"):
        RatesInForce.of(frame).need("labour_hour")


def test_a_price_book_may_work_the_same_lines_over_columns() -> None:
    frame = pl.DataFrame({"minutes": [30.0, 130.0], "leaks": [0.1, 0.08]})
    priced = frame.select(
        floor=price_floor(worked(pl.col("minutes"), pl.lit(69.5)), leak_back_share(pl.col("leaks"), pl.lit(310.0)))
    )
    assert priced["floor"].to_list() == pytest.approx([34.75 + 31.0, 150.58333333 + 24.8])
    assert priced.select(price_target(pl.col("floor"), pl.lit(0.5)))["floor"][0] == pytest.approx(131.5)


LEAK_BACKS = pl.DataFrame(
    {
        "labour_minutes": [60.0, 120.0, 180.0],
        "travel_minutes": [60.0, None, 30.0],
        "material_cost": [Decimal("10.00"), Decimal("0.00"), Decimal("25.50")],
    }
)


def test_a_leak_back_costs_what_the_business_own_did() -> None:
    # 69.50 + 47.00 + 10.00 = 126.50; 208.50 + 23.50 + 25.50 = 257.50; travel not recorded, so the mean of those two:
    # 139.00 + 35.25 = 174.25; mean 186.0833
    assert each_leak_back(LEAK_BACKS, RATES) == [Decimal("126.50"), Decimal("174.25"), Decimal("257.50")]
    found = leak_back_cost(LEAK_BACKS, RATES)
    assert isinstance(found, LeakBackCost)
    assert to_cent(found.mean) == Decimal("186.08")
    assert found.count == 3
    # s = sqrt(((126.50 - m)^2 + (174.25 - m)^2 + (257.50 - m)^2) / 2) = 66.297, over sqrt(3) = 38.277
    assert found.error == pytest.approx(38.277, abs=0.001)


def test_the_cost_of_a_leak_back_is_not_known_without_one_or_without_a_wage() -> None:
    assert leak_back_cost(LEAK_BACKS.clear(), RATES) is None
    assert leak_back_cost(LEAK_BACKS, without("labour_hour")) is None
    no_travel = leak_back_cost(LEAK_BACKS, without("travel_hour"))
    assert no_travel is not None
    assert "Travel to leak-backs is not in their cost: it has no rate." in no_travel.notes
    one = leak_back_cost(LEAK_BACKS.head(1), RATES)
    assert one is not None
    assert one.error is None


def test_a_blank_warranty_lasts_to_the_oldest_age_seen() -> None:
    months = pl.Series([12, None, 60, 0], dtype=pl.Int64)
    assert warranty_days(months, 2000.0).to_list() == [365.0, 2000.0, 1826.0, 0.0]
    assert "no end" in warranty_note(None, 2000.0)
    assert "66 months" in warranty_note(120, 2000.0)
    assert warranty_note(60, 2000.0) == ""


@pytest.fixture(scope="module")
def model(demo_store: Path) -> tuple[HazardModel, pl.DataFrame]:
    records = Records.of(demo_store)
    fitted = current(records).model
    assert fitted is not None
    return fitted, records.ask("follow_up")


def test_leak_backs_over_the_warranty_are_those_who_do_not_hold_through_all_its_months(
    model: tuple[HazardModel, pl.DataFrame],
) -> None:
    fitted, world = model
    cracks = world.head(50).with_columns(warranty_months=pl.Series([24] * 25 + [60] * 25, dtype=pl.Int64))
    found = warranty_leak_backs(fitted, cracks)
    month_ends = np.floor(np.arange(61) * 365.25 / 12)
    holds = [np.exp(-np.exp(cumulative(fitted, cracks, start, end).log)) for start, end in pairwise(month_ends)]
    held = np.where(np.arange(50) < 25, np.prod(holds[:24], axis=0), np.prod(holds, axis=0))
    assert found["leak_backs"].to_numpy() == pytest.approx(1 - held)
    assert (found["low"] < found["leak_backs"]).all()
    assert (found["leak_backs"] < found["high"]).all()


def test_floor_what_if_and_risk_count_the_same_leak_backs(model: tuple[HazardModel, pl.DataFrame]) -> None:
    fitted, world = model
    cracks = world.head(50).with_columns(warranty_months=pl.lit(36, pl.Int64), prepared=pl.lit(value=False))
    risks = risk(fitted, cracks, 36)["risk"].to_numpy()
    assert warranty_leak_backs(fitted, cracks)["leak_backs"].to_numpy() == pytest.approx(risks)
    assert leak_backs(fitted, cracks) == pytest.approx(risks)


def test_no_warranty_no_leak_back_cost(model: tuple[HazardModel, pl.DataFrame]) -> None:
    fitted, world = model
    cracks = world.head(3).with_columns(warranty_months=pl.lit(0, dtype=pl.Int64))
    assert warranty_leak_backs(fitted, cracks)["leak_backs"].to_list() == [0.0] * 3


def test_a_part_not_recorded_is_taken_for_the_mean_of_those_that_are() -> None:
    # labour 60, 60 and 120 at 60 an hour; material 10 and 30 known of two, so 20 for the third (arithmetic)
    rates = RatesInForce({"labour_hour": Decimal(60), "travel_hour": Decimal(30)}, ("EUR",))
    seen = pl.DataFrame(
        {
            "labour_minutes": [60.0, 60.0, 120.0],
            "travel_minutes": [None, 40.0, 20.0],
            "material_cost": [Decimal(10), Decimal(30), None],
        }
    )
    assert each_leak_back(seen, rates) == [Decimal(85), Decimal(110), Decimal(150)]
    found = leak_back_cost(seen, rates)
    assert found is not None
    assert found.mean == Decimal(115)
    assert any("Material was recorded for 2 of 3" in note for note in found.notes)
    assert any("Travel was recorded for 2 of 3" in note for note in found.notes)


def test_a_part_recorded_of_none_is_said_to_be_missing() -> None:
    rates = RatesInForce({"labour_hour": Decimal(60), "travel_hour": Decimal(30)}, ("EUR",))
    seen = pl.DataFrame(
        {"labour_minutes": [60.0], "travel_minutes": [0.0], "material_cost": [None]},
        schema_overrides={"material_cost": pl.Decimal(16, 2)},
    )
    found = leak_back_cost(seen, rates)
    assert found is not None
    assert found.notes == ("The material of leak-backs is not in their cost: it was recorded for none.",)

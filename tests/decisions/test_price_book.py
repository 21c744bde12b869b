"""The price book: one kind of work worked by hand, and the errors of its figures."""

from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analytics.contract.dimensions import dimensions
from analytics.contract.policy import Prices
from analytics.decisions.costs import RatesInForce
from analytics.decisions.crack_costs import PARTS, need_rates, rate_columns, with_charge, with_costs
from analytics.decisions.price_book import price_book
from analytics.errors import LeakbackError

AMOUNTS = {
    "labour_hour": 60,
    "travel_hour": 30,
    "epoxy_litre": 40,
    "urethane_foam_litre": 35,
    "port_each": 2,
    "seal_kg": 10,
}
RATES = RatesInForce({item: Decimal(amount) for item, amount in AMOUNTS.items()}, ("USD",))
POLICY = Prices(margin=Decimal("0.35"), set_up_minutes=12.0, seal_kg_per_litre=1.5)
KIND = dimensions(["resin", "water"])
PLAIN: dict[str, Any] = {
    "job_id": "J-1", "length_m": 2.0, "resin": "epoxy", "water": "dry", "resin_litres": 0.5, "port_count": 10,
    "labour_minutes": 100.0, "travel_minutes": 40.0, "cracks_on_job": 1, "price_charged": 420.0, "leak_back": 20.0,
}  # fmt: skip
SURE = pl.DataFrame({"resin": ["epoxy"], "water": ["dry"], "relative_variance": [0.0]})


def costed(*rows: dict[str, Any], prices: Prices = POLICY) -> pl.DataFrame:
    cracks = pl.DataFrame([{**PLAIN, "job_id": f"J-{place}", **row} for place, row in enumerate(rows)])
    return with_charge(with_costs(cracks.with_columns(**rate_columns(RATES)), prices))


def six() -> pl.DataFrame:
    return costed(
        *({"resin_litres": litres, "price_charged": 400.0 + 20 * litres} for litres in (0.3, 0.4, 0.5, 0.5, 0.6, 0.7))
    )


def test_one_crack_worked_by_hand() -> None:
    row = costed({}).row(0, named=True)
    assert row["resin_cost"] == 20  # 0.5 L at 40
    assert row["ports_cost"] == 20  # 10 at 2
    # seal 1/8 in thick, 2 in to each side: 322.58 mL/m (arithmetic), 2 m, 1.5 kg/L, 10 a kg
    assert row["seal_cost"] == pytest.approx(0.32258 * 2 * 1.5 * 10, abs=1e-4)
    assert row["labour_cost"] == 112  # 100 min and 12 of set-up at 60 an hour
    assert row["travel_cost"] == 20  # 40 min at 30 an hour
    assert row["direct"] == pytest.approx(20 + 20 + 9.6774 + 112 + 20, abs=1e-4)
    assert row["floor"] == pytest.approx(181.6774 + 20, abs=1e-4)
    assert row["left"] == pytest.approx(420 - 201.6774, abs=1e-4)


def test_one_kind_worked_by_hand() -> None:
    (row,) = price_book(six(), KIND, POLICY.margin, 0.95, SURE).to_dicts()
    assert (row["resin"], row["water"], row["cracks"], row["jobs"], row["metres"]) == ("epoxy", "dry", 6, 6, 12.0)
    assert row["material_per_metre"] == pytest.approx((20 + 20 + 9.6774) / 2, abs=1e-4)  # 0.5 L on average
    assert row["labour_per_metre"] == pytest.approx(56)
    assert row["travel_per_metre"] == pytest.approx(10)
    assert row["cost_per_metre"] == pytest.approx(181.6774 / 2, abs=1e-4)
    assert row["leak_back_cost_per_metre"] == pytest.approx(10)
    assert row["floor_per_metre"] == pytest.approx(201.6774 / 2, abs=1e-4)
    assert row["target_per_metre"] == pytest.approx(201.6774 / 2 / 0.65, abs=1e-4)
    assert row["charged_per_metre"] == pytest.approx(410 / 2)
    assert row["left_per_metre"] == pytest.approx((410 - 201.6774) / 2, abs=1e-4)
    assert row["below"] == "no"


def test_errors_are_those_between_jobs() -> None:
    (row,) = price_book(six(), KIND, None, 0.9, SURE).to_dicts()
    litres = np.array([0.3, 0.4, 0.5, 0.5, 0.6, 0.7])
    error = np.sqrt(((litres * 40 - 20) ** 2).sum() * 6 / 5) / 12  # Cochran 1977, eq. 6.13, all lengths alike
    reach = np.exp(stats.t.ppf(0.95, 5) * error / 10)
    assert (row["resin_low"], row["resin_high"]) == pytest.approx((10 / reach, 10 * reach))
    left = 20 * litres - 40 * litres  # what is left varies with the litres: 20 a litre charged, 40 paid
    spread = np.sqrt(((left - left.mean()) ** 2).sum() * 6 / 5) / 12
    assert row["left_high"] - row["left_per_metre"] == pytest.approx(stats.t.ppf(0.95, 5) * spread)
    assert row["target_per_metre"] is None


def test_what_the_hazards_leave_open_widens_the_leak_backs_and_the_floor() -> None:
    unsure = SURE.with_columns(relative_variance=pl.lit(0.04))
    (row,) = price_book(six(), KIND, None, 0.95, unsure).to_dicts()
    reach = np.exp(stats.t.ppf(0.975, 5) * 0.2)
    assert row["leak_back_cost_high"] == pytest.approx(10 * reach)  # every crack's leak-backs are alike here
    (sure,) = price_book(six(), KIND, None, 0.95, SURE).to_dicts()
    assert row["floor_high"] > sure["floor_high"]
    assert row["left_low"] < sure["left_low"]
    assert row["labour_high"] == sure["labour_high"]


def test_a_jobs_travel_is_shared_alike_and_its_price_by_minutes() -> None:
    two = costed(
        {"job_id": "J-9", "cracks_on_job": 2, "labour_minutes": 100.0, "price_charged": 600.0},
        {"job_id": "J-9", "cracks_on_job": 2, "labour_minutes": 200.0, "price_charged": 600.0},
    )
    assert two["travel_cost"].to_list() == [10, 10]
    assert two["labour_cost"].to_list() == [106, 206]
    assert two["charged"].to_list() == pytest.approx([200, 400])


def test_a_job_with_a_minute_missing_has_no_shares() -> None:
    two = costed({"job_id": "J-9", "cracks_on_job": 2}, {"job_id": "J-9", "cracks_on_job": 2, "labour_minutes": None})
    assert two["charged"].to_list() == [None, None]
    assert two["direct"].null_count() == 1


def test_kinds_sold_below_their_floor_come_first_and_thin_ones_are_silent() -> None:
    cheap = [{"water": "running", "price_charged": 100.0 + place, "job_id": f"R-{place}"} for place in range(6)]
    wavering = [
        {"water": "damp", "price_charged": price, "job_id": f"D-{place}"}
        for place, price in enumerate((120.0, 160.0, 190.0, 200.0, 220.0, 260.0))
    ]
    thin = [{"water": "seeping", "job_id": f"S-{place}"} for place in range(4)]
    cracks = costed(*cheap, *wavering, *thin, *({"job_id": f"P-{place}"} for place in range(6)))
    unsure = pl.DataFrame(
        {"resin": "epoxy", "water": ["dry", "damp", "seeping", "running"], "relative_variance": [0.0] * 4}
    )
    found = price_book(cracks, KIND, None, 0.95, unsure)
    assert found["water"].to_list() == ["running", "damp", "dry", "seeping"]
    assert found["below"].to_list() == ["yes", "perhaps", "no", None]
    (silent,) = found.filter(pl.col("water") == "seeping").to_dicts()
    assert silent["floor_per_metre"] is None
    assert silent["note"] == "only 4 jobs; 5 are needed"


def test_parts_add_up_to_the_cost() -> None:
    (row,) = price_book(six(), KIND, None, 0.95, SURE).to_dicts()
    assert sum(row[f"{part}_per_metre"] for part in PARTS) == pytest.approx(row["cost_per_metre"])


def test_without_a_density_the_seal_costs_nothing() -> None:
    row = costed({}, prices=Prices()).row(0, named=True)
    assert row["seal_cost"] == 0
    assert row["labour_cost"] == 100


def test_a_missing_rate_is_named() -> None:
    for item in AMOUNTS:
        rates = RatesInForce({key: amount for key, amount in RATES.amounts.items() if key != item}, ("USD",))
        cracks = pl.DataFrame([PLAIN, {**PLAIN, "resin": "urethane_foam"}])
        with pytest.raises(LeakbackError, match=item):
            need_rates(rates, cracks, POLICY)

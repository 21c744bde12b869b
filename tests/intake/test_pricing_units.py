"""Rates that a business has by the gallon or the pound: converted at the door, refused where a unit is left unsaid."""

import pytest

from analytics.errors import MapError
from analytics.intake import parse_map
from analytics.intake.maps.proposing import propose
from tests.intake.brought import brought, clean, csv_bytes, faults
from tests.intake.test_proposing import sheet, taken

WORDS = {
    "Labor per hour": "labour_hour",
    "Epoxy per gallon": "epoxy_litre per gallon",
    "Foam / gal": "urethane_foam_litre per gal",
    "Seal per lb": "seal_kg per lb",
    "Port each": "port_each",
}
COSTS = ["48", "$95.00", "120", "4.50", "0.85"]
PER_LITRE, PER_KILOGRAM = 3.785411784, 0.45359237
"""Litres a US gallon of 231 cubic inches, kilograms a pound: NIST Special Publication 811, Appendix B."""


def priced_map(words: dict[str, str]) -> str:
    said = ", ".join(f'"{theirs}" = "{ours}"' for theirs, ours in words.items())
    return f"""
version = 1
[rates.columns]
effective_on = {{ header = "From", date_format = "MM/DD/YYYY" }}
item = {{ header = "Item", words = {{ {said} }} }}
amount = "Cost"
currency = {{ constant = "USD" }}
"""


def prices() -> bytes:
    rows = [["01/01/2025", item, cost] for item, cost in zip(WORDS, COSTS, strict=True)]
    return csv_bytes([["From", "Item", "Cost"], *rows])


def test_prices_per_gallon_and_pound_are_proposed_so() -> None:
    columns = {"Effective": ["2025-01-01"] * 5, "Item": list(WORDS), "Cost": COSTS, "Currency": ["USD"] * 5}
    item = taken(propose(sheet(columns, "rates")))["rates.item"]
    assert item.origin.words == {theirs: ours for theirs, ours in WORDS.items() if theirs != "Port each"}


def test_prices_per_gallon_and_pound_become_those_of_a_litre_and_a_kilogram() -> None:
    found = dict(clean(brought({"rates.csv": prices()}, priced_map(WORDS)), "rates", "item", "amount"))
    expected = {
        "labour_hour": 48,
        "epoxy_litre": 95 / PER_LITRE,
        "urethane_foam_litre": 120 / PER_LITRE,
        "seal_kg": 4.5 / PER_KILOGRAM,
        "port_each": 0.85,
    }
    assert {item: float(amount) for item, amount in found.items()} == pytest.approx(expected, abs=5e-5)


def test_a_word_that_names_a_gallon_does_not_pass_for_a_litre() -> None:
    with pytest.raises(MapError, match="'Epoxy per gallon' is a price per gallon, so it must become 'epoxy_litre per"):
        parse_map(priced_map(WORDS | {"Epoxy per gallon": "epoxy_litre"}))


@pytest.mark.parametrize("ours", ["epoxy_litre per lb", "labour_hour per gal", "port_each per kg"])
def test_an_item_is_not_priced_by_what_it_is_not_measured_in(ours: str) -> None:
    with pytest.raises(MapError, match=f"cannot become '{ours}': {ours.partition(' ')[0]} has no price per"):
        parse_map(priced_map({"Epoxy": ours}))


@pytest.mark.parametrize("cost", ["dear", "1e120", "95 per lb"])
def test_what_is_no_price_is_rejected_as_it_was_written(cost: str) -> None:
    rows = [["From", "Item", "Cost"], ["01/01/2025", "Epoxy per gallon", cost], ["01/01/2025", "Port each", "1"]]
    [(row, column, reason)] = faults(brought({"rates.csv": csv_bytes(rows)}, priced_map(WORDS)))
    assert (row, column) == (2, "amount")
    assert f"{cost} per gallon" in reason or "the cell" in reason

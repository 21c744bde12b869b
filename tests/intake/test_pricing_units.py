"""Rates that a business has by the gallon or the pound: converted at the door, refused where a unit is left unsaid."""

import polars as pl
import pytest

from analytics.errors import MapError
from analytics.intake import parse_map, work_list
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
    with pytest.raises(
        MapError, match="'Epoxy per gallon' names gallon; if it is a price per gallon, make it 'epoxy_litre per"
    ):
        parse_map(priced_map(WORDS | {"Epoxy per gallon": "epoxy_litre"}))


@pytest.mark.parametrize("ours", ["epoxy_litre per lb", "labour_hour per gal", "port_each per kg"])
def test_an_item_is_not_priced_by_what_it_is_not_measured_in(ours: str) -> None:
    with pytest.raises(MapError, match=f"cannot become '{ours}': {ours.partition(' ')[0]} has no price per"):
        parse_map(priced_map({"Epoxy": ours}))


@pytest.mark.parametrize("theirs", ["Epoxy gallon", "Epoxy (gal)", "Epoxy, 1 gal"])
def test_a_gallon_named_in_any_way_does_not_pass_for_a_litre(theirs: str) -> None:
    with pytest.raises(MapError, match="if it is a price per gal"):
        parse_map(priced_map({theirs: "epoxy_litre"}))


@pytest.mark.parametrize(
    ("theirs", "ours"), [("Epoxy per kg", "epoxy_litre"), ("Port per ft", "port_each"), ("Seal per gal", "seal_kg")]
)
def test_a_word_priced_by_what_the_item_is_not_measured_in_is_refused_and_not_proposed(theirs: str, ours: str) -> None:
    with pytest.raises(MapError, match=f"{ours} has no price per"):
        parse_map(priced_map({theirs: ours}))
    columns = {"Effective": ["2025-01-01"] * 2, "Item": [theirs, "Labour hour"], "Cost": ["1", "2"]}
    item = taken(propose(sheet(columns | {"Currency": ["USD"] * 2}, "rates"))).get("rates.item")
    assert item is None or theirs not in item.origin.words


def test_a_price_per_minute_or_hour_becomes_one_of_an_hour() -> None:
    words = {"Labor per minute": "labour_hour per minute", "Driving per hour": "travel_hour"}
    rows = [["From", "Item", "Cost"], *(["01/01/2025", theirs, "0.80"] for theirs in words)]
    found = dict(clean(brought({"rates.csv": csv_bytes(rows)}, priced_map(words)), "rates", "item", "amount"))
    assert {item: float(amount) for item, amount in found.items()} == {"labour_hour": 48.0, "travel_hour": 0.8}


@pytest.mark.parametrize("cost", ["95 per gal", "95/gal", "95.00"])
def test_a_unit_in_the_cell_may_be_that_of_the_word_too(cost: str) -> None:
    rows = [["From", "Item", "Cost"], ["01/01/2025", "Epoxy per gallon", cost]]
    [(_, amount)] = clean(brought({"rates.csv": csv_bytes(rows)}, priced_map(WORDS)), "rates", "item", "amount")
    assert float(amount) == pytest.approx(95 / PER_LITRE, abs=5e-5)


@pytest.mark.parametrize(
    ("item", "cost"),
    [("epoxy_litre", "95/lb"), ("seal_kg", "4 per gal"), ("labour_hour", "4 per litre"), ("port_each", "4 per litre")],
)
def test_an_amount_per_what_its_item_is_not_measured_in_is_rejected(item: str, cost: str) -> None:
    rows = [["From", "Item", "Cost"], ["01/01/2025", item, cost], ["01/02/2025", "Port each", "1"]]
    [(row, column, reason)] = faults(brought({"rates.csv": csv_bytes(rows)}, priced_map(WORDS)))
    assert (row, column) == (2, "amount")
    assert reason.startswith("the cell is a price per ")
    assert f"{item} has none" in reason


@pytest.mark.parametrize("cost", ["dear", "1e120"])
def test_what_is_no_price_is_rejected_as_it_was_written(cost: str) -> None:
    rows = [["From", "Item", "Cost"], ["01/01/2025", "Epoxy per gallon", cost], ["01/01/2025", "Port each", "1"]]
    [(row, column, reason)] = faults(brought({"rates.csv": csv_bytes(rows)}, priced_map(WORDS)))
    assert (row, column) == (2, "amount")
    assert f"{cost} per gallon" in reason or "the cell" in reason


def test_a_list_of_faulty_cells_says_of_what_an_amount_is_the_price_of_one() -> None:
    rows = [["From", "Item", "Cost"], ["01/01/2025", "Epoxy per gallon", "dear"]]
    rejects = brought({"rates.csv": csv_bytes(rows)}, priced_map(WORDS)).rejects
    assert work_list(rejects.with_columns(key=pl.lit("")))["unit"].to_list() == [
        "currency of rates per h, L, kg or piece, as its item is priced"
    ]


@pytest.mark.parametrize(
    ("cost", "column_map"), [("4 per litre", ""), ("dear per litre", priced_map({"An hour": "labour_hour"}))]
)
def test_an_amount_that_cannot_be_read_is_rejected_for_that_alone(cost: str, column_map: str) -> None:
    header = ["From", "Item", "Cost"] if column_map else ["effective_on", "item", "amount", "currency"]
    day = "01/01/2025" if column_map else "2025-01-01"
    row = [day, "labour_hour", cost, *([] if column_map else ["USD"])]
    [(_, column, reason)] = faults(brought({"rates.csv": csv_bytes([header, row])}, column_map))
    assert column == "amount"
    assert "is not an amount" in reason

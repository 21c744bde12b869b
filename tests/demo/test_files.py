"""The shipped files are the ones the invented business writes, and look as a business would bring them."""

import csv
import re
import tomllib
from pathlib import Path

import pytest

from analytics.contract.places import shipped
from analytics.contract.tables import TABLES
from analytics.demo import write


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("data")
    write(folder)
    return folder


@pytest.mark.parametrize("name", TABLES)
def test_the_shipped_file_is_what_is_written(written: Path, name: str) -> None:
    assert (written / f"{name}.csv").read_bytes() == (shipped("data") / f"{name}.csv").read_bytes()


def test_nothing_else_is_written(written: Path) -> None:
    assert sorted(file.name for file in written.iterdir()) == sorted(f"{name}.csv" for name in TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_headers_are_the_contract_s_and_numbers_are_plain(name: str) -> None:
    with (shipped("data") / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows[0] == list(TABLES[name].columns())
    cells = [cell for row in rows[1:] for cell in row]
    assert not [cell for cell in cells if re.fullmatch(r"-?\d+\.0|.*[eE][-+]\d+|(?i:nan|inf|null)", cell)]
    money = [
        place
        for place, column in enumerate(rows[0])
        if column in {"price_quoted", "price_charged", "amount", "material_cost"}
    ]
    assert all(re.fullmatch(r"(\d+\.\d\d)?", row[place]) for row in rows[1:] for place in money)


def test_measurements_are_rounded_as_on_a_gauge_or_a_tape() -> None:
    with (shipped("data") / "cracks.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    shapes = {
        "length_m": r"\d(\.\d{1,2})?",
        "width_mm": r"(0\.\d{1,2}|[1-9](\.\d)?)?",
        "wall_thickness_mm": r"200|250|300",
        "wall_temp_c": r"(-?\d+)?",
        "offset_mm": r"(\d+(\.5)?)?",
        "resin_litres": r"(\d+(\.\d{1,2})?)?",
        "labour_minutes": r"(\d+)?",
    }
    for column, shape in shapes.items():
        assert not [row[column] for row in rows if not re.fullmatch(shape, row[column])], column


def test_the_policy_file_holds_the_business_s_own_figures_only() -> None:
    policy = tomllib.loads((shipped("data") / "policy.toml").read_text(encoding="utf-8"))
    assert policy == {
        "hemisphere": "north",
        "prep": {"minutes_per_crack": 40, "material_per_crack": "6.00"},
        "prices": {"margin": "0.38", "set_up_minutes": 15, "seal_kg_per_litre": 1.4},
    }

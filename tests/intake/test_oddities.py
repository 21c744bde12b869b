"""What is odd about a row that is loaded all the same: each threshold at its edge, thresholds of common practice."""

from collections.abc import Mapping
from datetime import date

import polars as pl
import pytest

from analytics.contract.tables import TABLES
from analytics.intake.oddities import warnings

MEASURED = {"length_m": 2.0, "width_mm": 1.0, "wall_thickness_mm": 200.0, "port_spacing_mm": 200.0}
"""A void of 0.4 L through the wall at most; eleven ports by length and spacing."""


def said(table: str, row: Mapping[str, object], lacks: str = "") -> list[tuple[str, str]]:
    schema = {name: column.dtype for name, column in TABLES[table].columns().items()}
    frame = pl.DataFrame([{name: row.get(name) for name in schema}], schema=schema)
    place = frame.with_columns(file=pl.lit("list.csv"), row=pl.lit(2, pl.Int64), lacks=pl.lit(lacks))
    return [(found["column"], found["reason"]) for found in warnings(table, place).to_dicts()]


@pytest.mark.parametrize(
    ("row", "column", "sentence"),
    [
        ({"length_m": 15.1}, "length_m", "a crack of 15.1 m is longer than any wall"),
        ({"width_mm": 25.1}, "width_mm", "a crack 25.1 mm wide is past the widest category"),
        ({"wall_temp_c": 40.5}, "wall_temp_c", "a wall at 40.5 °C; is it in Celsius?"),
        ({"wall_temp_c": -15.5}, "wall_temp_c", "a wall at -15.5 °C"),
        ({"resin_litres": 0.0}, "resin_litres", "0 L of resin; leave the cell blank"),
        ({"labour_minutes": 0.0}, "labour_minutes", "0 minutes of labour; leave the cell blank"),
        ({"labour_minutes": 1441.0}, "labour_minutes", "1441.0 person-minutes on one crack is three days' work"),
        ({"port_count": 4}, "port_count", "4 ports; the length and the spacing make about 11"),
        ({"port_count": 24}, "port_count", "24 ports; the length and the spacing make about 11"),
    ],
)
def test_what_lies_well_outside_ordinary_work_is_said(row: dict[str, object], column: str, sentence: str) -> None:
    [(where, why)] = said("cracks", MEASURED | row)
    assert where == column
    assert why.startswith(sentence)


@pytest.mark.parametrize(
    "row",
    [
        {},
        {"length_m": 15.0},
        {"width_mm": 25.0},
        {"wall_temp_c": 40.0},
        {"wall_temp_c": -15.0},
        {"labour_minutes": 1440.0},
        {"port_count": 5},
        {"port_count": 23},
    ],
)
def test_nothing_is_said_up_to_there(row: dict[str, object]) -> None:
    assert said("cracks", MEASURED | row) == []


def test_the_void_of_a_short_hairline_is_not_rounded_away() -> None:
    small = {"length_m": 0.1, "width_mm": 0.05, "wall_thickness_mm": 100.0, "resin_litres": 0.1}
    [(_, why)] = said("cracks", small)
    assert why.startswith("0.1 L is over ten times the 0.000")
    assert "the 0.0 L" not in why


def test_work_on_a_crack_without_a_size_is_odd_but_where_the_file_has_no_sizes() -> None:
    assert [column for column, _ in said("cracks", {"labour_minutes": 60.0})] == ["length_m"]
    assert said("cracks", {"labour_minutes": 60.0}, lacks="length_m,width_mm") == []


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ({"done_on": date(2024, 5, 1), "quoted_on": date(2024, 5, 2)}, "done_on"),
        ({"planned_on": date(2024, 5, 1), "quoted_on": date(2024, 5, 2)}, "planned_on"),
        ({"price_quoted": 0}, "price_quoted"),
        ({"price_quoted": 100, "price_charged": 1001}, "price_charged"),
        ({"price_quoted": 1001, "price_charged": 100}, "price_charged"),
        ({"travel_minutes": 601.0}, "travel_minutes"),
    ],
)
def test_of_a_job(row: dict[str, object], column: str) -> None:
    assert [where for where, _ in said("jobs", row)] == [column]


def test_of_a_job_on_the_edge_nothing_is_said() -> None:
    same = date(2024, 5, 2)
    edge = {"done_on": same, "planned_on": same, "quoted_on": same, "price_quoted": 100, "price_charged": 1000}
    assert said("jobs", edge | {"travel_minutes": 600.0}) == []

"""Each feature is declared once and knows when it is known."""

from typing import Any

import polars as pl
import pytest

from analytics.contract.tables import ACCESSES, DIRECTIONS, MOVEMENTS, TABLES, WATERS
from analytics.risk.features import BY_NAME, FEATURES, STEPS, not_recorded

CRACK: dict[str, Any] = {
    "width_mm": 1.0,
    "length_m": 3.0,
    "wall_thickness_mm": 250.0,
    "water": "running",
    "movement": "still",
    "direction": "stepped",
    "access": "tight",
    "season": "spring",
    "wall_temp_c": 9.9,
    "resin": "epoxy",
    "port_spacing_mm": 250.1,
    "cleaned": True,
    "dried": False,
    "water_tested": None,
    "together": 0.0,
}


def _values(**changes: object) -> dict[str, Any]:
    row = pl.DataFrame([CRACK | changes], schema_overrides={"water_tested": pl.Boolean})
    return row.select(feature.value.alias(name) for name, feature in BY_NAME.items()).row(0, named=True)


def test_every_source_column_is_the_contracts_or_the_season() -> None:
    contract = TABLES["cracks"].columns().keys() | TABLES["jobs"].columns().keys() | {"season"}
    assert {column for feature in FEATURES for column in feature.columns} <= contract


def test_what_is_used_up_on_the_day_is_never_a_feature() -> None:
    columns = {column for feature in FEATURES for column in feature.columns}
    assert not columns & {"resin_litres", "labour_minutes", "port_count"}


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("log_width", "handed"),
        ("access_tight", "handed"),
        ("season_spring", "handed"),
        ("urethane_foam", "chosen"),
        ("wide_spacing", "chosen"),
        ("epoxy_on_wet", "chosen"),
        ("epoxy_on_cold", "chosen"),
        ("cleaned", "done"),
        ("water_tested_not_recorded", "done"),
    ],
)
def test_a_feature_is_known_when_the_latest_of_its_columns_is(name: str, kind: str) -> None:
    assert BY_NAME[name].kind == kind


def test_the_steps_are_those_done_on_the_day() -> None:
    assert STEPS == ("cleaned", "dried", "water_tested")


def test_values_of_a_crack() -> None:
    values = _values()
    assert values["log_width"] == pytest.approx(0.6931472)
    assert values["length"] == pytest.approx(1.0)
    assert values["wall_thickness"] == pytest.approx(0.5)
    held = {name for name, value in values.items() if value is True}
    assert held == {
        *("water_running", "direction_stepped", "access_tight", "season_spring", "cold_wall"),
        *("wide_spacing", "epoxy_on_wet", "epoxy_on_cold", "cleaned", "water_tested_not_recorded"),
    }


def test_ports_as_far_apart_as_the_wall_is_thick_are_not_too_far() -> None:
    assert _values(port_spacing_mm=250.0)["wide_spacing"] is False


def test_what_was_not_recorded_has_no_value_and_says_so() -> None:
    values = _values(width_mm=None, water=None)
    assert values["log_width"] is None
    assert values["hairline"] is None
    assert values["water_damp"] is None
    assert values["epoxy_on_wet"] is None
    assert values["width_mm_not_recorded"]
    assert values["water_not_recorded"]


def test_foam_is_no_epoxy_on_a_wet_crack_whatever_the_water() -> None:
    assert _values(resin="urethane_foam", water=None)["epoxy_on_wet"] is False


def test_each_measurement_has_one_not_recorded_feature_with_the_subjects_words() -> None:
    names = [feature.name for feature in not_recorded()]
    assert len(names) == len(set(names)) == len(CRACK) - 1  # what is learnt is always known
    assert BY_NAME["movement_not_recorded"].words == "movement not known"
    assert BY_NAME["port_spacing_mm_not_recorded"].words == "port spacing not recorded"


@pytest.mark.parametrize(
    ("column", "words"), [("water", WATERS), ("movement", MOVEMENTS), ("direction", DIRECTIONS), ("access", ACCESSES)]
)
def test_every_word_of_the_contract_but_the_first_has_its_own_feature(column: str, words: tuple[str, ...]) -> None:
    held = {word: {name for name, value in _values(**{column: word}).items() if value is True} for word in words}
    for word in words[1:]:
        assert f"{column}_{word}" in held[word] - held[words[0]]

"""Every setting of the policy, declared once: words and ranges for the file, the form and the list of them."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from pydantic import ValidationError

from analytics.contract.policy import PUBLISHED, Policy, Prices, Thresholds, _keys, read_policy
from analytics.contract.settings import SETTINGS, Setting, Value, changed, percent_text, policy_text
from analytics.contract.units import displayed

NUMBERS = [each for each in SETTINGS.values() if not each.options and each.kind != "text"]


def as_kept(each: Setting, value: float) -> float | int | Decimal:
    return int(value) if each.kind == "whole" else Decimal(str(value)) if each.kind in {"amount", "share"} else value


def test_every_key_of_the_file_is_a_setting_and_no_other() -> None:
    assert [f"{each.section}.{each.name}".removeprefix(".") for each in SETTINGS.values()] == list(_keys())


@pytest.mark.parametrize("each", NUMBERS, ids=lambda each: each.name)
def test_the_range_that_is_said_is_the_one_that_is_kept_to(each: Setting) -> None:
    step = 1 if each.kind == "whole" else 0.001
    beside = {"class_a_below_c": {"class_c_above_c": 30.0}, "class_c_above_c": {"class_a_below_c": 1.0}}
    beside |= {"too_narrow_mm": {"hard_to_fill_mm": 1.0}, "hard_to_fill_mm": {"too_narrow_mm": 0.01}}
    least = each.least + (step if each.above or each.name == "hard_to_fill_mm" else 0)
    for value in (least, each.most):
        kept = as_kept(each, value)
        assert each.of(changed(PUBLISHED, {**beside.get(each.name, {}), each.name: kept})) == kept
    for value in (each.least if each.above else each.least - step, each.most + step):
        with pytest.raises(ValidationError):
            changed(PUBLISHED, {each.name: as_kept(each, value)})


def test_only_what_is_ones_own_is_written_so_that_what_comes_to_be_published_later_holds() -> None:
    sections: dict[str, object] = {"thresholds": {}, "prep": {}, "prices": {}, "papers": {}, "keeping": {}}
    assert tomllib.loads(policy_text()) == sections
    own = changed(PUBLISHED, {"margin": Decimal("0.35"), "wide_mm": 6.0})
    assert tomllib.loads(policy_text(own)) == sections | {"thresholds": {"wide_mm": 6.0}, "prices": {"margin": "0.35"}}


def test_what_is_taken_out_is_as_published_and_the_rest_stays() -> None:
    policy = Policy(thresholds=Thresholds(wide_mm=6), prices=Prices(margin=Decimal("0.35"), set_up_minutes=15))
    assert changed(policy, {"wide_mm": None, "margin": None}) == Policy(prices=Prices(set_up_minutes=15))


def test_the_whole_policy_reads_back_from_its_own_text(tmp_path: Path) -> None:
    values: dict[str, Value] = {
        "hemisphere": "south",
        "display": "us",
        "wide_mm": 6.35,
        "several_count": 4,
        "minutes_per_crack": 25.5,
        "material_per_crack": Decimal("7.30"),
        "margin": Decimal("0.375"),
        "set_up_minutes": 0.0,
        "seal_kg_per_litre": 1.4,
        "business": 'Walls "dry" \\ Söhne & Co.',
        "backups": 12,
        "user_names": True,
    }
    policy = changed(PUBLISHED, values)
    assert {name: SETTINGS[name].of(policy) for name in values} == values
    (tmp_path / "policy.toml").write_text(policy_text(policy), encoding="utf-8")
    assert read_policy(tmp_path / "policy.toml") == policy


def test_the_text_is_the_same_whoever_writes_it() -> None:
    with displayed("us"):
        shown = policy_text()
    assert shown == policy_text()


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("margin", None, "not set"),
        ("margin", Decimal("0.375"), "37.5 %"),
        ("material_per_crack", Decimal(6), "6.00 EUR"),
        ("set_up_minutes", 15.0, "15 person-minutes"),
        ("user_names", True, "yes"),
        ("business", "Made-up Walls", "Made-up Walls"),
        ("offset_mm", 3.2, "3.2 mm (1/8 in)"),
        ("offset_mm", 6.0, "6 mm"),
        ("cold_wall_c", 7.5, "7.5 °C"),
    ],
)
def test_a_value_in_words(name: str, value: str, said: str) -> None:
    assert SETTINGS[name].said(value, "EUR") == said


def test_a_temperature_of_a_standard_is_in_its_own_edition_alone() -> None:
    with displayed("us"):
        assert SETTINGS["cold_wall_c"].said(7.5) == "7.5 °C (45.5 °F)"
        assert SETTINGS["cold_wall_c"].said(10.0) == "10 °C (50 °F)"
        assert SETTINGS["class_a_below_c"].said(4.0) == "4 °C"


@pytest.mark.parametrize(("share", "percent"), [("0.35", "35"), ("0.375", "37.5"), ("0", "0"), ("0.1", "10")])
def test_a_share_in_percent(share: str, percent: str) -> None:
    assert percent_text(Decimal(share)) == percent


@pytest.mark.parametrize("name", ["", " ", "two\nlines", " before", "x" * 61, "bell\x07", "right\u202eleft"])
def test_a_name_is_one_line_that_a_sheet_has_room_for(name: str) -> None:
    with pytest.raises(ValidationError):
        changed(PUBLISHED, {"business": name})

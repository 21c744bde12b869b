"""The shipped reference values: complete, said with their numbers, and right where arithmetic can tell."""

import re
from dataclasses import FrozenInstanceError
from itertools import chain

import pytest

from analytics.contract import references as module
from analytics.contract.references import Reference, reference, references, safety_lines
from analytics.contract.rules import RULES
from analytics.errors import UnknownNameError

INCH_MM = 25.4  # exact: international yard and pound agreement, 1959 (from memory)
ALL = list(references().values())


@pytest.mark.parametrize("entry", ALL, ids=lambda entry: entry.key)
def test_says_its_numbers_in_a_sentence_with_a_source_and_a_mark(entry: Reference) -> None:
    assert entry.mark in {"S", "Q", "M", "P", "C"}
    assert entry.source
    assert entry.says.endswith((".", '".'))
    assert bool(entry.numbers) == bool(entry.unit)
    for number in entry.numbers:
        rounded = f"{number:.0f}" if entry.mark == "P" and entry.unit == "mm" else ""
        assert (rounded or repr(number).removesuffix(".0")) in entry.says


def test_every_number_has_its_own_unit_so_that_none_is_read_in_another() -> None:
    # In US units only a number with a unit beside it is converted: of "≤ 5, > 25 mm" the 5 would stand there as inches.
    shared = re.compile(r"\d\s*(?:,|–|;|\bor\b|\band\b)\s*[<≤>≥ ]*\d[\d.]*\s*(?:mm|mL|m|L|kPa)\b")
    said = [text for entry in ALL for text in (entry.says, entry.source)]
    said += [text for rule in RULES.values() for text in (rule.text, rule.do, rule.note, rule.source)]
    assert [text for text in said if shared.search(text)] == []


@pytest.mark.parametrize("entry", ALL, ids=lambda entry: entry.key)
def test_common_practice_is_called_that_and_claims_no_source(entry: Reference) -> None:
    assert ("common practice" in entry.source) >= (entry.mark == "P") >= ("no published source" in entry.source)


def test_nobody_on_site_is_given_a_thousandth_of_a_millimetre() -> None:
    for key, said in (("seal_thickness", "3 mm (1/8 in)"), ("seal_strip_each_side", "51 mm (2 in)")):
        assert said in reference(key).says
    assert (reference("seal_thickness").number, reference("seal_strip_each_side").number) == (3.175, 50.8)


def test_a_key_is_declared_once_over_all_groups() -> None:
    keys = list(chain.from_iterable(module._file().values()))
    assert len(keys) == len(set(keys)) == len(references())


def test_safety_lines_come_in_their_order_and_end_with_the_screening_aid() -> None:
    every = ["isocyanate", "epoxy", "under_pressure", "silica", "strength", "screening_aid"]
    assert [line.key for line in safety_lines([None])] == every
    # The sentence beside every screening rule, word for word.
    assert safety_lines([])[-1].says == (
        "A screening aid, not an engineering opinion. Local codes and a licensed engineer decide."
    )


def test_each_resin_has_its_own_caution_and_any_is_injected_under_pressure() -> None:
    # Epoxy sensitises the skin: HSE RR079, summary; eyes and airways: EU-OSHA OSHwiki. Under pressure: common practice.
    for resins, own in (
        (["epoxy"], {"epoxy"}),
        (["urethane_foam"], {"isocyanate"}),
        (["epoxy", "urethane_foam"], {"epoxy", "isocyanate"}),
        (["epoxy", None], {"epoxy", "isocyanate"}),
        ([], set()),
    ):
        keys = {line.key for line in safety_lines(resins)}
        assert keys & {"epoxy", "isocyanate"} == own
        assert "under_pressure" in keys
    assert "safety sheet" in reference("epoxy").says


def test_an_unknown_key_is_refused_with_the_nearest_one() -> None:
    with pytest.raises(UnknownNameError, match="unknown reference 'us_galon': did you mean us_gallon"):
        reference("us_galon")


def test_references_are_read_once_and_cannot_be_changed() -> None:
    assert reference("psi") is reference("psi")
    with pytest.raises(FrozenInstanceError):
        reference("psi").unit = "bar"  # type: ignore[misc]
    with pytest.raises(TypeError):
        references()["psi"] = reference("psi")  # type: ignore[index]


def test_one_number_is_asked_only_of_a_reference_that_holds_one() -> None:
    assert reference("usual_port_spacing").numbers == (150.0, 250.0)
    assert reference("strength").numbers == ()
    for key in ("usual_port_spacing", "strength"):
        with pytest.raises(TypeError, match=key):
            _ = reference(key).number


def test_a_us_gallon_is_231_cubic_inches() -> None:
    # NIST Handbook 44, Appendix C: 231 in³ exactly.
    assert reference("us_gallon").number == pytest.approx(231 * INCH_MM**3 / 1e6, rel=1e-12)


def test_seal_and_strip_are_the_inches_of_common_practice() -> None:
    # Common practice, no source: 1/8 in thick, 2 in each side; cleaned at least as far.
    assert reference("seal_thickness").number == pytest.approx(INCH_MM / 8)
    assert reference("seal_strip_each_side").number == pytest.approx(2 * INCH_MM)
    # Seal does not hold on what was not cleaned (common practice, no source).
    assert reference("cleaned_strip_each_side").number >= reference("seal_strip_each_side").number
    assert reference("cleaned_strip_each_side").number == pytest.approx(2 * INCH_MM, abs=1)
    # Common practice, no source: 6 to 10 in.
    assert reference("usual_port_spacing").numbers == pytest.approx((6 * INCH_MM, 10 * INCH_MM), abs=5)


@pytest.mark.parametrize(
    ("key", "number", "unit"),
    [
        ("resin_viscosity_limit", 2.0, "Pa·s"),  # ASTM C881 Type IV Grade 1
        ("resin_bond_limit", 10.0, "MPa"),  # ASTM C881 Type IV Grade 1, at 14 days
        ("cure_urethane_foam", 2.0, "h"),  # common practice, no source
        ("cure_epoxy", 24.0, "h"),  # common practice, no source
        ("water_head", 9.81, "kPa/m"),  # 1000 kg/m³ × 9.81 m/s²
    ],
)
def test_published_and_usual_limits(key: str, number: float, unit: str) -> None:
    assert (reference(key).number, reference(key).unit) == (number, unit)


def test_workplace_limits() -> None:
    # 29 CFR 1910.1000 Table Z-1: ceiling of MDI 0.02 ppm, 0.2 mg/m³. 29 CFR 1926.1153: 50 and 25 µg/m³.
    assert reference("isocyanate").numbers == (0.02, 0.2)
    assert reference("silica").numbers == (50.0, 25.0)


def test_one_psi_in_kpa() -> None:
    # Pound 0.45359237 kg and standard gravity 9.80665 m/s², both exact (from memory).
    pascal = 0.45359237 * 9.80665 / (INCH_MM / 1000) ** 2
    assert reference("psi").number == pytest.approx(pascal / 1000, rel=1e-12)


def test_cubic_law_flows() -> None:
    # Witherspoon et al. 1980: q = g w³ i / (12 ν); ν of water at 20 °C 1.0e-6 m²/s, gradient 10.
    flows = [9.81 * (width_mm / 1000) ** 3 * 10 / (12 * 1.0e-6) * 3600 * 1000 for width_mm in (0.1, 0.2, 0.3)]
    assert reference("cubic_law_flow").numbers == pytest.approx(flows, abs=0.005)
    assert flows[1] == pytest.approx(8 * flows[0])


def test_thermal_movement_of_a_hundred_feet() -> None:
    # A worked example of a trade journal: 100 ft, 100 °F, 5.5e-6/°F.
    assert reference("thermal_movement").number == pytest.approx(100 * 12 * 100 * 5.5e-6)
    low, high = reference("thermal_coefficient").numbers
    assert low < 5.5 < high

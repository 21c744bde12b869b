"""The policy: published thresholds with their sources, a business's own ones, and what it may not hold."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from analytics.contract.places import shipped
from analytics.contract.policy import PUBLISHED, Policy, Prep, Thresholds, policy_differs, read_policy
from analytics.contract.rules import RULES, THRESHOLDS, Rule
from analytics.contract.settings import policy_text
from analytics.errors import LeakbackError, PolicyError, UnknownNameError

PUBLISHED_VALUES = [
    ("offset_mm", 3.2),  # residential foundation practice, 1/8 in; quoted
    ("wide_mm", 5.0),  # BRE Digest 251; quoted
    ("several_count", 3),  # our own choice, no source
    ("several_mm", 3.0),  # BRE Digest 251, "several of, say, 3 mm"; quoted
    ("site_leak_backs", 2),  # our own choice, no source
    ("too_narrow_mm", 0.05),  # ACI 224.1R s. 3.2; quoted
    ("hard_to_fill_mm", 0.127),  # TxDOT Concrete Repair Manual ch. 3 s. 5; read
    ("taper_mm", 3.2),  # a trade journal; quoted
    ("cold_wall_c", 10),  # UFC 4-150-07 CR-1; read
    ("spacing_to_thickness", 1.0),  # TxDOT Concrete Repair Manual ch. 3 s. 5; read
    ("class_a_below_c", 4),  # ASTM C881, metric edition; quoted and from memory
    ("class_c_above_c", 15),  # ASTM C881, metric edition; quoted and from memory
]


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "policy.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(("name", "value"), PUBLISHED_VALUES)
def test_published_thresholds(name: str, value: float) -> None:
    assert PUBLISHED.thresholds.value(name) == value


def test_every_threshold_is_declared_once_and_can_be_overridden() -> None:
    declared = [name for rule in RULES.values() for name in rule.thresholds]
    assert sorted(declared) == sorted(Thresholds.model_fields) == sorted(name for name, _ in PUBLISHED_VALUES)


def test_rule_ids_are_unique() -> None:
    rows = tomllib.loads(shipped("shared/rules.toml").read_text(encoding="utf-8"))["rules"]
    assert len(rows) == len(RULES)


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.id)
def test_every_rule_names_its_source_a_sentence_and_what_to_do(rule: Rule) -> None:
    assert rule.source
    assert rule.text[0] == rule.text[0].lower()
    assert rule.do.endswith(".")
    assert rule.unless is None or rule.unless in RULES


def test_a_source_says_how_it_is_known() -> None:
    assert RULES["horizontal"].source == "common practice, no source: no standard gives a number"
    assert RULES["stepped"].source == "common practice, no source"
    assert RULES["not_measured"].source.startswith("our own choice, no source")
    assert RULES["cold_wall"].source == "UFC 4-150-07 CR-1, a waterfront manual"
    assert "BRE Digest 251: several of, say, 3 mm (as quoted elsewhere)" in RULES["several"].source


@pytest.mark.parametrize(
    ("value", "compared_with"),
    # 1/8 in is exactly 3.175 mm (25.4 mm to the inch by definition) and is published as 3.2 mm.
    [(3.2, 3.175), (3.175, 3.175), (3.19, 3.175), (3.0, 3.0), (3.21, 3.21), (6.0, 6.0)],
)
def test_an_eighth_of_an_inch_is_at_the_threshold_of_3_2_mm(value: float, compared_with: float) -> None:
    assert Thresholds(offset_mm=value).effective("offset_mm") == compared_with


def test_a_looser_policy_never_compares_with_a_smaller_size() -> None:
    sizes = [Thresholds(offset_mm=tenth / 100).effective("offset_mm") for tenth in range(50, 1300)]
    assert sizes == sorted(sizes)


def test_no_path_and_no_file_are_the_published_policy(tmp_path: Path) -> None:
    assert read_policy(None) == read_policy(tmp_path / "none.toml") == PUBLISHED
    assert PUBLISHED.hemisphere == "north"


def test_no_default_for_what_prep_costs() -> None:
    assert PUBLISHED.prep.minutes_per_crack is None
    assert PUBLISHED.prep.material_per_crack is None


def test_reads_what_a_business_writes(tmp_path: Path) -> None:
    prep = "[prep]\nminutes_per_crack = 25\nmaterial_per_crack = 7.3\n"
    text = f'\ufeffhemisphere = "south"\n[thresholds]\nwide_mm = 6\n{prep}'
    policy = read_policy(written(tmp_path, text))
    assert policy.hemisphere == "south"
    assert policy.thresholds == Thresholds(wide_mm=6.0)
    assert policy.prep == Prep(minutes_per_crack=25, material_per_crack=Decimal("7.3"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[thresholds]\nofset_mm = 3",
            "unknown key in policy.toml 'thresholds.ofset_mm': did you mean thresholds.offset_mm?",
        ),
        ("wide_mm = 6", "unknown key in policy.toml 'wide_mm': did you mean thresholds.wide_mm?"),
        ("[prep]\nminutes = 3", "unknown key in policy.toml 'prep.minutes': did you mean prep.minutes_per_crack?"),
        ('hemisphere = "nroth"', "unknown hemisphere in policy.toml 'nroth': did you mean north?"),
    ],
)
def test_an_unknown_name_is_answered_with_the_nearest(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        read_policy(written(tmp_path, text))
    assert str(caught.value) == said


@pytest.mark.parametrize(
    "switch", ["[rules]\nhorizontal = false", "engineer_review = false", "[thresholds]\ngrowing = 0"]
)
def test_no_rule_can_be_switched_off(tmp_path: Path, switch: str) -> None:
    with pytest.raises(UnknownNameError):
        read_policy(written(tmp_path, switch))


@pytest.mark.parametrize("bad", ["nan", "inf", "-inf", "0", "-3.2", "0.49", "13.01", "true", '"3.2"', "[3.2]"])
def test_a_threshold_is_a_sane_number(tmp_path: Path, bad: str) -> None:
    with pytest.raises(PolicyError) as caught:
        read_policy(written(tmp_path, f"[thresholds]\noffset_mm = {bad}"))
    said = str(caught.value)
    assert said.startswith("policy.toml: thresholds.offset_mm = ")
    assert "a number from 0.5 to 13 (mm)" in said
    assert "\n" not in said


@pytest.mark.parametrize("name", THRESHOLDS)
def test_no_threshold_may_be_infinite_zero_or_negative(name: str) -> None:
    for bad in (float("inf"), float("nan"), 0, -1, 1e9):
        with pytest.raises(ValidationError):
            Thresholds.model_validate({name: bad})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[thresholds]\nseveral_count = 3.5",
            "policy.toml: thresholds.several_count = 3.5 must be a whole number from 2 to 10",
        ),
        (
            "[thresholds]\ntoo_narrow_mm = 0.2",
            "policy.toml: in thresholds, too_narrow_mm must be under hard_to_fill_mm.",
        ),
        (
            "[thresholds]\nclass_a_below_c = 15",
            "policy.toml: in thresholds, class_a_below_c must be under class_c_above_c.",
        ),
        ("[prep]\nminutes_per_crack = -1", "policy.toml: prep.minutes_per_crack = -1 does not fit"),
        ('[prep]\nmaterial_per_crack = "dear"', "policy.toml: prep.material_per_crack = 'dear' does not fit"),
        ("[prep]\nmaterial_per_crack = nan", "policy.toml: prep.material_per_crack = nan does not fit"),
        ("thresholds = 3", "policy.toml: thresholds must be a section"),
        ("hemisphere = ", "policy.toml is not valid TOML"),
    ],
)
def test_a_faulty_value_is_one_line_with_file_and_key(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(PolicyError) as caught:
        read_policy(written(tmp_path, text))
    assert str(caught.value).startswith(said)
    assert "\n" not in str(caught.value)


def test_what_is_no_text_file_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "binary.toml", tmp_path):
        with pytest.raises(LeakbackError, match=f"{path.name} cannot be read as a policy"):
            read_policy(path)


def test_a_policy_does_not_change_once_read() -> None:
    with pytest.raises(ValidationError):
        PUBLISHED.thresholds.wide_mm = 9
    assert hash(PUBLISHED) == hash(Policy())


def test_the_published_policy_text_names_every_threshold_with_unit_and_source() -> None:
    text = policy_text()
    for rule in RULES.values():
        for name, limit in rule.thresholds.items():
            assert f"\n# {name} = " in text
            assert f"Published: {limit.said(limit.value)}." in text
            assert all(f"# Source: {source}." in text for source in rule.sources)
    assert "\nminutes_per_crack" not in text
    assert "\nmaterial_per_crack" not in text


@given(
    hemisphere=st.sampled_from(["north", "south"]),
    wide=st.floats(0.5, 15),
    count=st.integers(2, 10),
    minutes=st.none() | st.floats(0, 2880),
    material=st.none() | st.decimals(0, 100_000, places=2),
)
@settings(max_examples=50, deadline=None, derandomize=True)
def test_a_policy_reads_back_from_its_own_text(
    tmp_path_factory: pytest.TempPathFactory,
    hemisphere: str,
    wide: float,
    count: int,
    minutes: float | None,
    material: Decimal | None,
) -> None:
    given_policy = {
        "hemisphere": hemisphere,
        "thresholds": {"wide_mm": wide, "several_count": count},
        "prep": {"minutes_per_crack": minutes, "material_per_crack": material},
    }
    policy = Policy.model_validate(given_policy)
    path = tmp_path_factory.mktemp("policy") / "policy.toml"
    path.write_text(policy_text(policy), encoding="utf-8")
    assert read_policy(path) == policy


def test_only_a_threshold_of_ones_own_is_said_beside_the_published_one() -> None:
    looser = Policy(thresholds=Thresholds(offset_mm=6, several_count=4))
    assert policy_differs(looser, RULES["offset"]) == "your policy: 6 mm; published: 3.2 mm"
    assert policy_differs(looser, RULES["several"]) == "your policy: 4 cracks; published: 3 cracks"
    assert policy_differs(looser, RULES["wide"]) == ""
    assert all(policy_differs(PUBLISHED, rule) == "" for rule in RULES.values())

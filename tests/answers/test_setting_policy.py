"""The policy changed beside a store: written whole, told in the history, refused in a sentence, nothing lost."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers import setting_policy
from analytics.answers.demonstrating import fill, take_out
from analytics.answers.loading import begin
from analytics.answers.records import Records, policy_path
from analytics.answers.setting_policy import in_force, set_policy
from analytics.answers.standing import Person, asking
from analytics.contract.policy import PUBLISHED, Policy
from analytics.contract.roles import ROLES
from analytics.contract.settings import changed, policy_text
from analytics.errors import CannotWriteError, LeakbackError, NotAllowedError, PolicyError
from analytics.pages.keeping import trail
from analytics.store import Store

BY_HAND = '# as Ada and I agreed in March\n[prices]\nmargin = "0.38"\n'


def policy(store: Path) -> Policy:
    return Records.of(store).policy


def told(store: Path) -> list[dict[str, object]]:
    details = Store(store).frame("select details from audit where what = 'policy' order by number")["details"]
    return [json.loads(each) for each in details]


def kept(store: Path) -> list[Path]:
    return sorted(store.parent.glob("*.earlier-*"))


def test_what_is_set_is_in_force_and_a_blank_takes_it_out(store: Path) -> None:
    said = str(set_policy(store, {"margin": "35 %", "wide_mm": "1/4 in", "set_up_minutes": "0.5 h", "display": "US"}))
    assert "margin 35 % (was not set)" in said
    assert "width for an engineer 6.35 mm (was 5 mm)" in said
    found = policy(store)
    assert (found.prices.margin, found.prices.set_up_minutes, found.display) == (Decimal("0.35"), 30, "us")
    assert found.thresholds.wide_mm == 6.35
    set_policy(store, {"prices.margin": "", "thresholds.wide_mm": " ", "set_up_minutes": "", "display": ""})
    assert policy(store) == PUBLISHED
    assert policy_path(store).read_text(encoding="utf-8") == policy_text(PUBLISHED)
    assert kept(store) == []


def test_a_size_that_the_published_one_stands_for_is_the_published_one(store: Path) -> None:
    """1/8 in is 3.175 mm, and published as 3.2 mm."""
    with pytest.raises(LeakbackError, match="all of it is so already"):
        set_policy(store, {"offset_mm": "1/8 in"})
    set_policy(store, {"offset_mm": "1/4 in"})
    set_policy(store, {"offset_mm": "3.175"})
    assert policy(store) == PUBLISHED


def test_a_number_may_be_written_as_it_is_shown(store: Path) -> None:
    given = {
        "seal_kg_per_litre": "1.4 kg per litre",
        "set_up_minutes": "40 person-minutes",
        "several_count": "4 cracks",
        "class_c_above_c": "16 °C",
    }
    set_policy(store, given)
    found = policy(store)
    assert (found.prices.seal_kg_per_litre, found.prices.set_up_minutes) == (1.4, 40)
    assert (found.thresholds.several_count, found.thresholds.class_c_above_c) == (4, 16)


def test_a_link_to_a_policy_that_several_stores_share_stays_one(store: Path) -> None:
    shared = store.with_name("shared.toml")
    shared.write_text("", encoding="utf-8")
    policy_path(store).symlink_to(shared)
    set_policy(store, {"margin": "0.35"})
    assert policy_path(store).is_symlink()
    assert 'margin = "0.35"' in shared.read_text(encoding="utf-8")
    assert kept(store) == []  # an empty file said nothing


def test_the_file_is_for_its_owner_only(store: Path) -> None:
    policy_path(store).write_text(BY_HAND, encoding="utf-8")
    set_policy(store, {"margin": "0.4"})
    assert {path.stat().st_mode & 0o777 for path in (policy_path(store), *kept(store))} == {0o600}


def test_a_file_that_says_more_than_its_settings_is_kept_each_time(store: Path) -> None:
    for number, margin in ((1, "0.4"), (2, "0.41")):
        policy_path(store).write_text(BY_HAND, encoding="utf-8")
        said = str(set_policy(store, {"margin": margin}))
        assert said.endswith(f"is kept as store.policy.toml.earlier-{number}.")
    assert [path.read_text(encoding="utf-8") for path in kept(store)] == [BY_HAND, BY_HAND]
    assert "is kept" not in str(set_policy(store, {"margin": "0.42"}))
    assert len(kept(store)) == 2


def test_the_history_tells_which_settings_and_first_what_was_changed_by_hand(store: Path) -> None:
    policy_path(store).write_text(BY_HAND, encoding="utf-8")
    with asking(Person("owner", "ada@example.org")):
        set_policy(store, {"margin": "", "wide_mm": "6"})
    by_hand, changed = told(store)
    assert "changed" not in by_hand
    assert changed["changed"] == ["wide_mm", "margin"]
    entries = Records.of(store).ask("audit_trail")
    assert entries["by_whom"][0].startswith("owner")
    said = trail(entries).rows["said"].to_list()
    assert said[0].startswith("the policy file is now ")
    assert said[0].endswith(" (width for an engineer, margin)")
    set_policy(store, {"margin": "0.4"})
    assert len(told(store)) == 3


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"margin": "35"}, "margin: “35” must be a share from 0 to 0.95, such as 0.35, or in percent, such as 35 %"),
        ({"margin": "0.35 %"}, "Not changed: margin: “0.35 %” must be 0 or from 1 to 95 %, such as 35 %"),
        ({"margin": "96 %"}, "“96 %” must be 0 or from 1 to 95 %"),
        (
            {"wide_mm": "99"},
            "width for an engineer: “99” must be a number from 0.5 to 15 mm; leave it blank for the publ",
        ),
        ({"margin": "USD 0.35"}, "margin: “USD 0.35” must be a share"),
        ({"class_a_below_c": "40 F"}, "limit of epoxy class A: “40 F” must be a number from 1 to 15 °C"),
        ({"wide_mm": "wide"}, "width for an engineer: “wide” must be a number"),
        ({"wide_mm": "0"}, "width for an engineer: “0” must be a number"),
        ({"several_count": "2.5"}, "must be a whole number from 2 to 10 cracks"),
        ({"seal_kg_per_litre": "0"}, "must be a number over 0 and at most 5 kg per litre; leave it blank where there"),
        ({"material_per_crack": "-1"}, "must be an amount from 0 to 100,000"),
        ({"backups": "0"}, "must be a whole number from 1 to 1,000; leave it blank for 5"),
        ({"user_names": "perhaps"}, "account names in the audit trail: “perhaps” must be yes or no"),
        ({"display": "imperial"}, "unknown units shown 'imperial'"),
        ({"horizontal": "off"}, "unknown setting 'horizontal'"),
        (
            {"too_narrow_mm": "0.2"},
            "least width to inject 0.2 mm must be less than hard-to-fill width 0.127 mm (0.005 in)",
        ),
        ({"margin": "0.38"}, "all of it is so already"),
        ({}, "all of it is so already"),
    ],
)
def test_what_may_not_be_is_refused_and_nothing_is_changed(store: Path, given: dict[str, str], said: str) -> None:
    policy_path(store).write_text(BY_HAND, encoding="utf-8")
    before = store.read_bytes()
    with pytest.raises(LeakbackError) as refused:
        set_policy(store, given if given in ({}, {"margin": "0.38"}) else {"set_up_minutes": "20", **given})
    assert said in str(refused.value)
    assert policy_path(store).read_text(encoding="utf-8") == BY_HAND
    assert store.read_bytes() == before
    assert kept(store) == []


def test_two_that_depend_on_each_other_are_changed_together(store: Path) -> None:
    set_policy(store, {"too_narrow_mm": "0.2", "hard_to_fill_mm": "0.3"})
    with pytest.raises(LeakbackError, match=r"least width to inject 0.2 mm must be less than hard-to-fill width 0.127"):
        set_policy(store, {"hard_to_fill_mm": ""})
    set_policy(store, {"hard_to_fill_mm": "", "too_narrow_mm": ""})
    assert policy(store) == PUBLISHED


def test_an_amount_in_another_currency_is_refused(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(setting_policy, "_currency", lambda _: "USD")
    with pytest.raises(LeakbackError, match=r"Not changed: .* is typed in EUR, and asked for in USD"):
        set_policy(store, {"material_per_crack": "6 EUR"})
    set_policy(store, {"material_per_crack": "6 USD"})
    assert policy(store).prep.material_per_crack == 6


def test_a_file_that_cannot_be_read_is_left_as_it_is(store: Path) -> None:
    policy_path(store).write_text("[thresholds]\nwide_mm = 60\n", encoding="utf-8")
    with pytest.raises(PolicyError, match=r"thresholds.wide_mm = 60 must be a number from 0.5 to 15"):
        set_policy(store, {"margin": "0.35"})
    assert policy_path(store).read_text(encoding="utf-8") == "[thresholds]\nwide_mm = 60\n"
    assert told(store) == []


def test_where_the_file_cannot_be_written_nothing_is_told(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, content: bytes) -> None:
        raise CannotWriteError(f"no room for {len(content)} bytes at {path}")

    monkeypatch.setattr(setting_policy, "write_whole", full)
    with pytest.raises(CannotWriteError):
        set_policy(store, {"margin": "0.35"})
    assert told(store) == []
    assert not policy_path(store).exists()


@pytest.mark.parametrize("role", ROLES)
def test_only_the_owner_changes_it(store: Path, role: str) -> None:
    with asking(Person(role, "somebody@example.org")):  # type: ignore[arg-type] # one of the roles
        if role == "owner":
            assert set_policy(store, {"margin": "0.35"}).kept is None
        else:
            with pytest.raises(NotAllowedError, match=r"may not change the policy. Ask an owner"):
                set_policy(store, {"margin": "0.35"})
    assert policy_path(store).exists() == (role == "owner")


def test_what_is_in_force_is_told_with_what_is_published(store: Path) -> None:
    set_policy(store, {"wide_mm": "6"})
    answer = in_force(Records.of(store)).answer()
    rows = {row["name"]: row for row in answer["rows"]}
    assert (rows["wide_mm"]["value"], rows["wide_mm"]["published"], rows["wide_mm"]["own"]) == (6, 5, True)
    assert (rows["margin"]["value"], rows["margin"]["own"], rows["margin"]["sources"]) == (None, False, [])
    assert any("BRE Digest 251" in source for source in rows["wide_mm"]["sources"])
    assert [row["name"] for row in answer["rows"] if row["own"]] == ["wide_mm"]


def test_what_the_invented_business_works_to_leaves_with_it_and_ones_own_stays(store_path: Path) -> None:
    begin(store_path)
    fill(store_path)
    set_policy(store_path, {"display": "us", "set_up_minutes": "20"})
    assert policy(store_path).prices.margin == Decimal("0.38")
    take_out(store_path)
    found = policy(store_path)
    assert (found.display, found.prices.set_up_minutes) == ("us", 20)
    assert found.prices.margin is None
    assert found.prep == PUBLISHED.prep


def test_who_set_the_units_first_has_the_invented_business_whole(store_path: Path) -> None:
    begin(store_path)
    set_policy(store_path, {"display": "us", "margin": "0.2"})
    fill(store_path)
    found = policy(store_path)
    assert (found.display, found.prices.margin) == ("us", Decimal("0.2"))
    assert (found.prices.set_up_minutes, found.prep.minutes_per_crack) == (15, 40)
    take_out(store_path)
    assert policy(store_path) == changed(PUBLISHED, {"display": "us", "margin": Decimal("0.2")})
    assert kept(store_path) == []

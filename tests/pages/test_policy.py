"""The page of the policy: every setting in force beside what is published, and the forms that change them."""

from pathlib import Path

import pytest

from analytics.answers.records import Records, policy_path
from analytics.contract.roles import RIGHTS, ROLES, Role
from analytics.contract.settings import SETTINGS, settings_of
from analytics.contract.units import displayed
from analytics.errors import LeakbackError
from analytics.pages import papers, policy, policy_forms
from analytics.pages.form import Form
from analytics.pages.offers import offers
from analytics.pages.page import Caution, Page, Table
from analytics.pages.seen_by import seen_by
from analytics.pages.within import every_part
from analytics.render import markup
from tests.histories import DONE_JOB
from tests.pages.test_rates_set import Opener


@pytest.fixture
def records(records_of: Opener) -> Records:
    rate = {"item": "labour_hour", "amount": 60, "currency": "EUR", "effective_on": "2023-01-01"}
    return records_of({"jobs": [DONE_JOB], "rates": [rate]})


def page(records: Records) -> Page:
    return policy.build(Records.of(records.store.path), {})


def form(records: Records, key: policy_forms.Key) -> Form:
    (found,) = (each for each in offers(page(records).parts) if each.key == f"policy-{key or 'units'}")
    assert isinstance(found, Form)
    return found


def typed(asked: Form, **otherwise: str) -> dict[str, str]:
    """What is in the fields at first, but for what is typed ``otherwise``."""
    return {each.key: each.default for each in asked.fields} | otherwise


def cells(records: Records, title: str) -> dict[str, dict[str, str]]:
    (table,) = (part for part in every_part(page(records).parts) if isinstance(part, Table) and part.title == title)
    return {row["label"]: row for row in table.rows.to_dicts()}


def test_every_setting_stands_there_and_is_asked_for_once(records: Records) -> None:
    tables = [part for part in every_part(page(records).parts) if isinstance(part, Table)]
    assert sorted(label for table in tables for label in table.rows["label"]) == sorted(
        each.label for each in SETTINGS.values()
    )
    asked = [field.key for each in offers(page(records).parts) if isinstance(each, Form) for field in each.fields]
    assert sorted(asked) == sorted(SETTINGS)


def test_no_threshold_is_folded_away_on_a_phone(records: Records) -> None:
    (table,) = (
        part for part in every_part(page(records).parts) if isinstance(part, Table) and part.title == "Thresholds"
    )
    assert table.rows.height == len(settings_of("thresholds")) >= 10
    assert "lb-rest" not in markup.table(table, folds=True)


def test_without_a_policy_it_says_so_and_what_follows(records: Records) -> None:
    assert page(records).answer.startswith("Nothing is set of your own: thresholds are as published")
    margin = cells(records, "What prices are made to")["margin"]
    assert (margin["value"], margin["unset"]) == ("not set", "No target price is shown.")


def test_a_threshold_of_ones_own_stands_beside_the_published_one(records: Records) -> None:
    asked = form(records, "thresholds")
    said = asked.submit(typed(asked, wide_mm="1/4 in"))
    assert said == "Changed: width for an engineer 6.35 mm (was 5 mm)."
    row = cells(records, "Thresholds")["width for an engineer"]
    assert (row["value"], row["own"], row["published"]) == ("6.35 mm", "your own", "5 mm")
    assert row["range"] == "may be from 0.5 to 15 mm"
    assert cells(records, "Thresholds")["offset for an engineer"]["own"] == ""
    assert page(records).answer.startswith("1 of 22 settings is your own")


@pytest.mark.parametrize("role", ROLES)
def test_whoever_reads_the_thresholds_is_told_who_decides(records: Records, role: Role) -> None:
    seen = every_part(seen_by(RIGHTS[role], page(records), ()).parts)
    (caution,) = (part for part in seen if isinstance(part, Caution))
    assert "local codes and a licensed engineer still decide" in caution.text


def test_a_margin_is_typed_in_percent_and_a_blank_unsets_it(records: Records) -> None:
    asked = form(records, "prices")
    for text, held in (("35", "35 %"), ("37.5 %", "37.5 %"), ("0", "0 %")):
        asked.submit(typed(asked, margin=text))
        assert cells(records, "What prices are made to")["margin"]["value"] == held
    asked = form(records, "prices")
    assert typed(asked)["margin"] == "0"
    assert asked.submit(typed(asked, margin="")) == "Changed: margin not set (was 0 %)."


def test_only_what_is_typed_otherwise_is_changed(records: Records) -> None:
    policy_path(records.store.path).write_text("[thresholds]\nwide_mm = 6.123456789\n", encoding="utf-8")
    asked = form(records, "thresholds")
    form(records, "thresholds").submit(typed(form(records, "thresholds"), taper_mm="4"))  # by somebody else, meanwhile
    asked.submit(typed(asked, offset_mm="4"))
    found = Records.of(records.store.path).policy.thresholds
    assert (found.wide_mm, found.taper_mm, found.offset_mm) == (6.123456789, 4, 4)


@pytest.mark.parametrize(
    ("key", "name", "text", "said"),
    [
        ("prices", "margin", "0.35", "margin: “0.35 %” must be 0 or from 1 to 95 %, such as 35 %"),
        ("prices", "margin", "much", "margin: “much %” must be"),
        ("prep", "material_per_crack", "6 USD", "is typed in USD, and asked for in EUR"),
        ("thresholds", "cold_wall_c", "40", "cold wall: “40” must be a number from 1 to 30 °C"),
        (
            "thresholds",
            "class_a_below_c",
            "15",
            "limit of epoxy class A 15 °C must be less than limit of epoxy class C",
        ),
        ("keeping", "backups", "none", "automatic backups kept: “none” must be a whole number"),
    ],
)
def test_what_may_not_be_is_refused_in_a_sentence(
    records: Records, key: policy_forms.Key, name: str, text: str, said: str
) -> None:
    asked = form(records, key)
    with pytest.raises(LeakbackError) as refused:
        asked.submit(typed(asked, **{name: text}))
    assert said in str(refused.value)
    assert not policy_path(records.store.path).exists()


def test_a_reader_of_inches_sees_both_and_a_standards_limit_in_its_own(records: Records) -> None:
    policy_path(records.store.path).write_text("[thresholds]\ncold_wall_c = 7.5\n", encoding="utf-8")
    with displayed("us"):
        rows = cells(records, "Thresholds")
    assert rows["width for an engineer"]["value"] == "5 mm (0.197\u202fin)"
    assert rows["offset for an engineer"]["value"] == "3.2 mm (1/8 in)"
    assert rows["cold wall"]["value"] == "7.5 °C (45.5 °F)"
    assert rows["limit of epoxy class A"]["value"] == "4 °C"
    asked = {each.key: each for each in form(records, "thresholds").fields}
    assert (asked["wide_mm"].unit, asked["cold_wall_c"].unit) == ("mm", "°C")
    assert (asked["class_a_below_c"].unit, asked["class_a_below_c"].label) == ("", "limit of epoxy class A, °C")


@pytest.mark.parametrize("role", ROLES)
def test_who_sees_no_prices_sees_no_margin_and_the_owner_alone_the_forms(records: Records, role: Role) -> None:
    seen = seen_by(RIGHTS[role], page(records), ())
    titles = {part.title for part in every_part(seen.parts) if isinstance(part, Table)}
    assert "Thresholds" in titles
    assert ("What prices are made to" in titles) == RIGHTS[role].opens("prices")
    assert bool(list(offers(seen.parts))) == (role == "owner")


def test_where_the_file_lies_is_said_by_its_name(records: Records) -> None:
    told = " ".join(getattr(part, "text", "") for part in every_part(page(records).parts))
    assert "store.policy.toml" in told
    assert str(Path(records.store.path).parent) not in told


def test_the_business_name_is_set_and_taken_out_and_stands_on_every_paper(records: Records) -> None:
    asked = form(records, "papers")
    said = asked.submit(typed(asked, business=" Made-up Walls "))
    assert said == "Changed: name of the business Made-up Walls (was not set)."
    assert papers.about(Records.of(records.store.path)).startswith("Made-up Walls · ")
    for wrong in ("x" * 61, "two\nlines"):
        with pytest.raises(LeakbackError, match="must be one line of at most 60 letters; leave it blank where"):
            asked.submit(typed(asked, business=wrong))
    again = form(records, "papers")
    assert again.fields[0].default == "Made-up Walls"
    again.submit(typed(again, business=""))
    assert "Made-up" not in papers.about(Records.of(records.store.path))

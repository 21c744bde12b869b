"""What-ifs kept by name: saved, replaced, listed side by side, removed; nothing of the records changes."""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest

from analytics.answers import pricing, scenarios
from analytics.answers.records import Records
from analytics.decisions.scenarios import Scenario
from analytics.errors import LeakbackError, UnknownNameError
from tests.answers.test_pricing import history

Opener = Callable[..., Records]


@pytest.fixture
def records(records_of: Opener) -> Records:
    return records_of(history())


def side_by_side(records: Records) -> list[scenarios.Priced]:
    return scenarios.side_by_side(records, pricing.basis(records, 24), 24, 0.95)


def test_a_scenario_is_kept_and_another_of_its_name_replaces_it(records: Records) -> None:
    scenarios.save(records, "dearer labour", labour_hour=Decimal("75.50"))
    scenarios.save(records, "two years", warranty_months=24, margin=Decimal("0.4"))
    scenarios.save(records, "dearer labour", labour_hour=Decimal(80))
    assert scenarios.saved(records) == {
        "two years": Scenario(warranty_months=24, margin=Decimal("0.4")),
        "dearer labour": Scenario(labour_hour=Decimal(80)),
    }
    assert scenarios.called(records, "two years").changes() == {"warranty_months": 24, "margin": Decimal("0.4")}


@pytest.mark.parametrize("changes", [{"labour_hour": Decimal(0)}, {"margin": Decimal(0)}])
def test_a_rate_or_a_margin_of_nought_is_a_change(records: Records, changes: dict[str, Decimal]) -> None:
    scenarios.save(records, "for nothing", prep=False, **changes)
    assert scenarios.called(records, "for nothing").changes() == changes
    assert side_by_side(records)[1].changes == changes


def test_removing_forgets_it(records: Records) -> None:
    scenarios.save(records, "one", prep=True)
    scenarios.save(records, "two", margin=Decimal("0.1"))
    scenarios.remove(records, "one")
    assert list(scenarios.saved(records)) == ["two"]
    with pytest.raises(UnknownNameError, match="did you mean two"):
        scenarios.remove(records, "twoo")


def test_none_saved_is_said(records: Records) -> None:
    with pytest.raises(LeakbackError, match="none is saved yet"):
        scenarios.called(records, "any")
    assert side_by_side(records) == []


def test_side_by_side_begins_with_how_it_is(records: Records) -> None:
    scenarios.save(records, "dearer labour", labour_hour=Decimal(90))
    as_is, dearer = side_by_side(records)
    assert (as_is.name, dearer.name) == ("as it is", "dearer labour")
    assert as_is.row is not None
    assert dearer.row is not None
    # 100 minutes over 2 m: 50 a metre at 60 an hour, 75 at 90
    assert dearer.row["cost_per_metre"] - as_is.row["cost_per_metre"] == pytest.approx(25)


def test_prep_without_its_cost_in_the_policy_is_said(records: Records) -> None:
    scenarios.save(records, "prepared", prep=True)
    prepared = side_by_side(records)[1]
    assert prepared.row is None
    assert "what extra prep costs is not known" in prepared.said[0]


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ({}, "it changes nothing"),
        ({"margin": Decimal("1.5")}, "margin = 1.5"),
        ({"labour_hour": Decimal(-1)}, "labour_hour = -1"),
        ({"warranty_months": 0}, "warranty_months = 0"),
    ],
)
def test_what_is_no_scenario_is_refused(records: Records, said: dict[str, object], wrong: str) -> None:
    with pytest.raises(LeakbackError, match=wrong):
        scenarios.save(records, "no", **said)
    assert not scenarios.saved(records)


def test_a_scenario_without_a_name_is_asked_for_one(records: Records) -> None:
    with pytest.raises(LeakbackError, match=r"^give the scenario a name first$"):
        scenarios.save_typed(records, {"name": " ", "prep": "true"})


@pytest.mark.parametrize("name", ["as it is", "-dash", "a" * 41, "semi;colon"])
def test_a_name_that_cannot_be_typed_again_is_refused(records: Records, name: str) -> None:
    with pytest.raises(LeakbackError, match="cannot name a scenario"):
        scenarios.save(records, name, prep=True)


def test_what_is_typed_is_read_as_a_cell_is(records: Records) -> None:
    typed = {
        "name": " dearer ",
        "labour_hour": "75,50",
        "margin_percent": "40",
        "warranty_months": "24",
        "prep": "true",
    }
    assert scenarios.save_typed(records, {"name": " dearer ", **typed}) == "dearer"
    assert scenarios.called(records, "dearer") == Scenario(
        labour_hour=Decimal("75.50"), margin=Decimal("0.4"), warranty_months=24, prep=True
    )


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"labour_hour": "much"}, "^an hour of labour: “much” is not an amount with a decimal point and at most 4"),
        ({"epoxy_litre": "4 per lb"}, "^a litre of epoxy has no price per lb$"),
        ({"travel_hour": "95 per gal"}, "^an hour of travel has no price per gal$"),
        ({"labour_hour": "75 USD"}, "an hour of labour is typed in USD, and asked for in EUR: write it in EUR"),
        ({"warranty_months": "2.5"}, "warranty months: .*not a whole number"),
        ({"margin_percent": "150"}, "margin 150 %: give it in percent"),
        ({"margin_percent": "0.4"}, "margin 0.4 %: give it in percent of the price, 38 for 38 %"),
        ({"labour_hour": "", "prep": ""}, "it changes nothing"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(records: Records, typed: dict[str, str], wrong: str) -> None:
    with pytest.raises(LeakbackError, match=wrong):
        scenarios.save_typed(records, {"name": "one", **typed})
    assert not scenarios.saved(records)


@pytest.mark.parametrize("price", ["95 per gal", "€95/gallon", "95.00 per US gallon"])
def test_a_price_per_gallon_is_kept_as_one_of_a_litre(records: Records, price: str) -> None:
    """3.785411784 L a US gallon of 231 cubic inches: NIST Special Publication 811, Appendix B."""
    scenarios.save_typed(records, {"name": "dearer", "epoxy_litre": price, "labour_hour": "75"})
    kept = scenarios.called(records, "dearer")
    assert kept == Scenario(epoxy_litre=Decimal("25.0963"), labour_hour=Decimal(75))


def test_the_trail_says_what_was_saved_and_removed_and_no_model_is_older_for_it(records: Records) -> None:
    before = records.store.state()
    scenarios.save(records, "dearer", prep=True)
    scenarios.remove(records, "dearer")
    entries = records.store.frame("select details from audit where what = 'scenario' order by number")["details"]
    assert [json.loads(each)["name"] for each in entries] == ["dearer"] * 2
    assert [json.loads(each)["saved"] is None for each in entries] == [False, True]
    assert records.store.state() == before

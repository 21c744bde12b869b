"""Trees on top replace the hazard where they win by more than one standard error, and only there."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.risk import HazardModel, average_risk, contributions, expected, risk, train, what_if
from analytics.risk.challenge import NOTHING_FOUND, compare
from analytics.risk.outcome import Outcome
from analytics.risk.predict import encoded

LAST = date(2025, 6, 30)
TRUE_24 = 0.060 * 91 / 365.25 + 0.042 * 274 / 365.25 + 0.021 * 365 / 365.25


@pytest.fixture(scope="module")
def boosted(surprising: pl.DataFrame) -> HazardModel:
    return train(surprising, LAST)


def _outcome(expected_each: np.ndarray, leaked: np.ndarray) -> Outcome:
    n = len(leaked)
    return Outcome(np.full(n, 700.0), leaked, np.arange(n), expected_each, expected_each, expected_each)


def test_the_trees_win_where_a_term_is_missing_and_the_card_says_so(boosted: HazardModel) -> None:
    assert boosted.chosen == "boosted"
    assert boosted.trees
    challenge = boosted.verdict.challenge if boosted.verdict else None
    assert challenge
    assert challenge.winner == "boosted"
    assert challenge.margin.value > challenge.error > 0
    assert challenge.rounds > 0
    assert "the declared features do not say" in challenge.words


def test_what_they_find_brings_the_risks_nearer_the_truth(boosted: HazardModel, surprising: pl.DataFrame) -> None:
    plain = train(surprising.with_columns(wall_temp_c=pl.lit(12.0)), LAST)  # nothing there to be found
    true = 1 - np.exp(-TRUE_24 * np.exp(surprising["true_log"].to_numpy()))
    off = [np.sqrt(np.mean((risk(one, surprising, 24)["risk"].to_numpy() - true) ** 2)) for one in (boosted, plain)]
    assert plain.chosen == "hazard"
    assert off[0] < 0.85 * off[1]


def test_expected_stays_observed(boosted: HazardModel, surprising: pl.DataFrame) -> None:
    assert expected(boosted, surprising)["expected"].sum() == pytest.approx(boosted.leak_backs, rel=0.03)


def test_reasons_still_multiply_up_and_name_what_was_learnt(boosted: HazardModel, surprising: pl.DataFrame) -> None:
    cracks = surprising.sample(40, seed=3)
    average = -np.log1p(-average_risk(boosted, 24).value)
    own = -np.log1p(-risk(boosted, cracks, 24)["risk"].to_numpy())
    reasons = contributions(boosted, cracks)
    products = [np.prod([one.multiplier for one in each]) for each in reasons]
    assert np.array(products) * average == pytest.approx(own, rel=1e-9)
    assert all(sum(one.words.startswith("facts that together") for one in each) == 1 for each in reasons)


def test_a_change_is_read_by_the_trees_too(boosted: HazardModel, surprising: pl.DataFrame) -> None:
    place = boosted.scaling.features.index("together")
    cracks = surprising.head(200)
    colder = cracks.with_columns(wall_temp_c=pl.lit(8.0))
    assert (encoded(boosted, colder).columns[:, place] != encoded(boosted, cracks).columns[:, place]).any()
    changed = what_if(boosted, cracks, 24)
    assert (changed["low"] < changed["risk"]).all()


def test_kept_and_read_again_it_foretells_the_same(boosted: HazardModel, surprising: pl.DataFrame) -> None:
    again = HazardModel.from_json(boosted.to_json())
    assert again == boosted
    assert risk(again, surprising, 24).equals(risk(boosted, surprising, 24))


def test_without_trees_the_hazard_wins_by_nothing() -> None:
    found = compare(_outcome(np.full(100, 0.05), np.arange(100) < 5), None, "")
    assert (found.winner, found.rounds, found.margin.value, found.words) == ("hazard", 0, 0.0, NOTHING_FOUND)


def test_the_margin_is_the_log_score_a_leak_back(boosted: HazardModel) -> None:
    rng = np.random.default_rng(5)
    plain, better = rng.uniform(0.02, 0.2, 500), rng.uniform(0.02, 0.2, 500)
    leaked = rng.random(500) < better
    found = compare(_outcome(plain, leaked), _outcome(better, leaked), boosted.trees)
    by_hand = (leaked * np.log(better / plain) - better + plain).sum() / leaked.sum()
    assert found.margin.value == pytest.approx(by_hand)
    assert (found.winner == "boosted") == (by_hand > found.error)
    turned = compare(_outcome(better, leaked), _outcome(plain, leaked), boosted.trees)
    assert turned.margin.value == pytest.approx(-by_hand)
    assert turned.winner == "hazard"

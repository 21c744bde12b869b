"""The model card as data, and a kept model that cannot be read."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from analytics.answers import model_card, modelling
from analytics.answers.records import Records
from analytics.risk import HazardModel


@pytest.fixture(scope="module")
def model(demo_store: Path) -> HazardModel:
    found = modelling.current(Records.of(demo_store)).model
    assert found
    return found


def test_the_answer_has_what_was_fitted_how_it_did_and_what_it_cannot_do(model: HazardModel) -> None:
    answer = json.loads(json.dumps(model_card.answer(model), default=str, allow_nan=False))
    assert {"chosen", "scores", "trained_on", "challenger", "reliability", "drift", "limits"} <= answer.keys()
    scores = answer["scores"]
    for name in ("gain", "concordance", "ratio", "slope"):
        assert scores[name]["low"] <= scores[name]["value"] <= scores[name]["high"]
    assert answer["challenger"]["winner"] in {"hazard", "boosted"}
    assert {"cracks", "leak_backs", "foreseen", "seen"} <= answer["reliability"][0].keys()
    assert answer["trained_on"]["first_done_on"] < answer["trained_on"]["last_done_on"]
    assert {"index", "by_chance", "stands"} <= answer["drift"]["moved"][0].keys()


def test_features_are_told_by_when_they_are_known(model: HazardModel) -> None:
    kinds = model_card.features_by_kind(model)
    assert "water_seeping" in kinds["handed"]
    assert "urethane_foam" in kinds["chosen"]
    assert set(kinds["done"]) == {"cleaned", "dried", "water_tested"}
    assert sum(map(len, kinds.values())) == len(model.scaling.features)


def test_the_winner_is_named_with_its_margin(model: HazardModel) -> None:
    assert model.verdict
    said = model_card.sentence(model)
    assert "the risk model wins" in said
    share = 100 * model.verdict.gain.value / model.verdict.base_brier
    assert f"{share:.1f}\u202f% (" in said
    assert said.endswith(" smaller than with one rate for all.")


def test_where_it_is_no_better_the_one_rate_is_said_to_be_used(model: HazardModel) -> None:
    assert model.verdict
    worse = replace(model, verdict=replace(model.verdict, better=False))
    assert "no better than one rate for all" in model_card.sentence(worse)
    assert model_card.sentence(worse).endswith("that one rate is used.")


def test_where_it_could_not_be_checked_it_is_said(model: HazardModel) -> None:
    said = model_card.sentence(replace(model, verdict=None))
    assert said.endswith("it could not be checked on later jobs yet, so one rate is used for every crack.")
    assert model_card.answer(replace(model, verdict=None))["scores"] is None


def test_a_kept_model_of_an_older_program_is_fitted_again(
    demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / demo_store.name
    for path in demo_store.parent.glob(f"{demo_store.stem}*"):
        if path.is_file():
            shutil.copy(path, tmp_path / path.name)
    text = HazardModel.to_json
    monkeypatch.setattr(HazardModel, "to_json", lambda self: text(self).replace('"format":2', '"format":1', 1))
    modelling.fit(Records.of(store))
    monkeypatch.undo()
    found = modelling.current(Records.of(store))
    assert found.model
    assert found.said == modelling.FITTED_NOW
    assert modelling.current(Records.of(store)).said == ""

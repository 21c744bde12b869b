"""The model is kept as plain JSON and comes back as it was."""

import json
from typing import Any

import polars as pl
import pytest

from analytics.errors import LeakbackError
from analytics.risk import HazardModel, risk


def test_the_round_trip_is_exact(model: HazardModel, world: pl.DataFrame) -> None:
    again = HazardModel.from_json(model.to_json())
    assert again == model
    assert risk(again, world, 24).equals(risk(model, world, 24))


def _with(model: HazardModel, **changes: Any) -> str:
    return json.dumps(json.loads(model.to_json()) | changes)


@pytest.mark.parametrize("text", ["", "{", "[]", "7", "null", "{}", '{"format": 2}', '{"format": "x"}'])
def test_a_damaged_document_is_one_clear_line(text: str) -> None:
    with pytest.raises(LeakbackError, match=r"^the kept risk model is damaged \(.+\): fit it again\.$"):
        HazardModel.from_json(text)


@pytest.mark.parametrize(
    "changes",
    [
        {"parameters": [0.1]},
        {"covariance": [[1.0]]},
        {"parameters": "none"},
        {"chosen": "guess"},
        {"as_of": "yesterday"},
        {"extra": 1},
        {"format": 1},
        {"oldest_days": float("nan")},
        {"oldest_days": None},
    ],
)
def test_a_document_whose_parts_do_not_fit_is_damaged(model: HazardModel, changes: dict[str, Any]) -> None:
    with pytest.raises(LeakbackError, match="is damaged"):
        HazardModel.from_json(_with(model, **changes))


def test_a_document_cut_short_is_damaged(model: HazardModel) -> None:
    text = model.to_json()
    with pytest.raises(LeakbackError, match="is damaged"):
        HazardModel.from_json(text[: len(text) // 2])


def test_a_newer_document_asks_for_an_update(model: HazardModel) -> None:
    with pytest.raises(LeakbackError, match="has format 3, this program reads up to 2: update the program"):
        HazardModel.from_json(_with(model, format=3, something_new=True))


def test_a_feature_that_is_no_longer_known_asks_for_a_fit(model: HazardModel, world: pl.DataFrame) -> None:
    scaling = json.loads(model.to_json())["scaling"]
    scaling["features"][0] = "moon_phase"
    stale = HazardModel.from_json(_with(model, scaling=scaling))
    with pytest.raises(LeakbackError, match="'moon_phase', which is not known here: fit it again"):
        risk(stale, world, 24)

"""Boosted trees find what the features miss and nothing where they miss nothing, and are kept safely."""

import io
from base64 import b64decode, b64encode
from datetime import date
from importlib import import_module
from zipfile import ZipFile

import numpy as np
import polars as pl
import pytest

from analytics.errors import LeakbackError
from analytics.risk import HazardModel, Penalties, expected, fit
from analytics.risk.boosting import INPUTS, NEVER_LESS, Forest, from_text, grow

LAST = date(2025, 6, 30)


@pytest.fixture(scope="module")
def grown(surprising: pl.DataFrame) -> tuple[Forest, np.ndarray]:
    hazard = fit(surprising, LAST, Penalties(16.0, 16.0))
    found = grow(surprising, expected(hazard, surprising)["expected"].to_numpy())
    assert found is not None
    return found


def test_they_see_nothing_that_is_done_on_the_day_and_no_crew() -> None:
    columns = {name for value in INPUTS.values() for name in value.meta.root_names()}
    assert not columns & {"cleaned", "dried", "water_tested", "resin_litres", "labour_minutes", "crew_id"}
    assert "width_mm" not in NEVER_LESS


def test_where_the_features_say_it_all_they_find_next_to_nothing(world: pl.DataFrame, model: HazardModel) -> None:
    found = grow(world, expected(model, world)["expected"].to_numpy())
    assert found is None or np.std(found[1]) < 0.1


def test_they_find_what_the_features_miss(grown: tuple[Forest, np.ndarray], surprising: pl.DataFrame) -> None:
    warm = (surprising["wall_temp_c"] > 15).to_numpy()
    for said in (grown[0].log_ratios(surprising), grown[1]):
        assert said[warm].mean() - said[~warm].mean() > 0.5


def test_more_water_and_wider_ports_never_mean_less(grown: tuple[Forest, np.ndarray], surprising: pl.DataFrame) -> None:
    cracks = surprising.head(300)
    words = ("dry", "damp", "seeping", "running")
    by_water = [grown[0].log_ratios(cracks.with_columns(water=pl.lit(word))) for word in words]
    by_spacing = [
        grown[0].log_ratios(cracks.with_columns(port_spacing_mm=pl.col("wall_thickness_mm") * times))
        for times in (0.5, 1.0, 1.4, 2.0)
    ]
    for steps in (by_water, by_spacing):
        assert (np.diff(steps, axis=0) >= -1e-12).all()


def test_they_read_cracks_with_nothing_recorded(grown: tuple[Forest, np.ndarray], surprising: pl.DataFrame) -> None:
    blank = surprising.head(2).with_columns(pl.lit(None).alias(name) for name in ("water", "width_mm", "resin"))
    assert np.isfinite(grown[0].log_ratios(blank)).all()
    assert grown[0].log_ratios(surprising.clear()).shape == (0,)


def test_kept_and_read_again_they_say_the_same(grown: tuple[Forest, np.ndarray], surprising: pl.DataFrame) -> None:
    again = from_text(grown[0].to_text())
    assert again.rounds == grown[0].rounds
    assert (again.log_ratios(surprising) == grown[0].log_ratios(surprising)).all()


@pytest.mark.parametrize("text", ["", "not base64!", b64encode(b"not an archive").decode()])
def test_a_damaged_forest_is_one_clear_line(text: str) -> None:
    with pytest.raises(LeakbackError, match=r"the kept boosted trees are damaged \(\w+\): fit them again"):
        from_text(text)


def test_an_archive_that_holds_anything_else_is_refused() -> None:
    for intruder in (import_module("subprocess").run, np.polyfit):
        text = b64encode(import_module("skops.io").dumps([intruder])).decode()
        with pytest.raises(LeakbackError, match="holds something other than boosted trees"):
            from_text(text)


def test_an_archive_of_another_harmless_thing_is_refused() -> None:
    text = b64encode(import_module("skops.io").dumps({"rounds": 3})).decode()
    with pytest.raises(LeakbackError, match="holds something other than boosted trees"):
        from_text(text)


def test_a_forest_changed_to_call_something_is_refused(grown: tuple[Forest, np.ndarray]) -> None:
    changed = io.BytesIO()
    with ZipFile(io.BytesIO(b64decode(grown[0].to_text()))) as kept, ZipFile(changed, "w") as out:
        for name in kept.namelist():
            content = kept.read(name)
            if name == "schema.json":
                content = content.replace(b'"TreePredictor"', b'"system"').replace(
                    b'"sklearn.ensemble._hist_gradient_boosting.predictor"', b'"os"'
                )
            out.writestr(name, content)
    with pytest.raises(LeakbackError, match=r"other than boosted trees|damaged"):
        from_text(b64encode(changed.getvalue()).decode())


@pytest.mark.parametrize("blank", [("wall_temp_c",), ("movement",), ("offset_mm", "water", "port_spacing_mm")])
def test_they_grow_where_something_was_never_recorded(surprising: pl.DataFrame, blank: tuple[str, ...]) -> None:
    without = surprising.with_columns(pl.lit(None, surprising.schema[column]).alias(column) for column in blank)
    hazard = fit(without, LAST, Penalties(16.0, 16.0))
    found = grow(without, expected(hazard, without)["expected"].to_numpy())
    assert found is None or np.isfinite(found[0].log_ratios(without)).all()

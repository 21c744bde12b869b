"""Gower's distance against published values and the plain definition; the nearest cracks, and those unlike any."""

from datetime import date
from typing import Any

import numpy as np
import polars as pl
import pytest

from analytics.contract import units
from analytics.decisions import comparable
from analytics.decisions.comparable import FinishedCracks, finished_cracks, gower, nearest, ranges_of
from analytics.decisions.likeness import compare, unlike
from analytics.demo import world
from tests.worlds import follow_up

# Struyf, Hubert & Rousseeuw, Journal of Statistical Software 1(4) (1997), data set flower of R's cluster: three yes/no,
# soil colour and habit counted as words, order of preference and two sizes as numbers. The table is from memory.
FLOWER = (
    (0, 1, 1, 4, 3, 15, 25, 15), (1, 0, 0, 2, 1, 3, 150, 50), (0, 1, 0, 3, 3, 1, 150, 50), (0, 0, 1, 4, 2, 16, 125, 50),
    (0, 1, 0, 5, 2, 2, 20, 15), (0, 1, 0, 4, 3, 12, 50, 40), (0, 0, 0, 4, 3, 13, 40, 20), (0, 0, 1, 2, 2, 7, 100, 15),
    (1, 1, 0, 3, 1, 4, 25, 15), (1, 1, 0, 5, 2, 14, 100, 60), (1, 1, 1, 5, 3, 8, 45, 10), (1, 1, 1, 1, 2, 9, 90, 25),
    (1, 1, 0, 1, 2, 6, 20, 10), (1, 1, 1, 4, 2, 11, 80, 30), (1, 0, 0, 3, 2, 10, 40, 20), (1, 0, 0, 4, 2, 18, 200, 60),
    (1, 0, 0, 2, 2, 17, 150, 60), (0, 0, 1, 2, 1, 5, 25, 10),
)  # fmt: skip
FLOWER_NUMBERS, FLOWER_WORDS = ("V5", "V6", "V7", "V8"), ("V1", "V2", "V3", "V4")


def distances(frame: pl.DataFrame, numbers: tuple[str, ...], words: tuple[str, ...]) -> np.ndarray:
    points = ranges_of(frame, numbers, words).points(frame)
    return gower(points, points)


def test_flower_is_as_daisy_has_it() -> None:
    # R, cluster::daisy(flower): d(1,2) = 0.8875408
    rows = pl.DataFrame(FLOWER, schema=[f"V{i}" for i in range(1, 9)], orient="row")
    found = distances(rows, FLOWER_NUMBERS, FLOWER_WORDS)
    assert found[0, 1] == pytest.approx(0.8875408, abs=1e-6)
    assert np.diag(found) == pytest.approx(np.zeros(18), abs=1e-6)
    assert found == pytest.approx(found.T)


def test_four_small_cracks_are_as_daisy_has_them() -> None:
    # R cluster::daisy and the Python package gower 0.1.2, on widths as they are: reference run
    rows = pl.DataFrame({"size": [0.5, 1.0, 2.0, 4.0], "m": ["e", "f", "f", "e"], "wet": ["d", "w", "w", "w"]})
    found = distances(rows, ("size",), ("m", "wet"))
    expected = {
        (0, 1): 0.71428571, (0, 2): 0.80952381, (0, 3): 0.66666667,
        (1, 2): 0.09523810, (1, 3): 0.61904762, (2, 3): 0.52380952,
    }  # fmt: skip
    assert {pair: found[pair] for pair in expected} == pytest.approx(expected, abs=1e-6)


@pytest.fixture(scope="module")
def done() -> pl.DataFrame:
    return follow_up(world(seed=12, n_jobs=500))


@pytest.fixture(scope="module")
def reference(done: pl.DataFrame) -> FinishedCracks:
    return finished_cracks(done)


def by_definition(one: dict[str, Any], other: dict[str, Any], done: pl.DataFrame) -> float:
    """Gower's mean over what both have recorded, one measurement at a time."""
    water = {"dry": 0, "damp": 1, "seeping": 2, "running": 3}
    parts = [abs(water[str(one["water"])] - water[str(other["water"])]) / 3]
    for name in ("length_m", "width_mm", "wall_thickness_mm"):
        if one[name] is not None and other[name] is not None:
            spread = np.ptp(np.log(done[name].drop_nulls().to_numpy()))
            parts.append(abs(np.log(one[name]) - np.log(other[name])) / spread)
    told = [n for n in ("direction", "movement", "access", "resin", "season") if one[n] and other[n]]
    parts += [float(one[name] != other[name]) for name in told]
    return float(np.mean(parts))


def test_distances_of_cracks_are_the_definition(done: pl.DataFrame, reference: FinishedCracks) -> None:
    some = done.head(15)
    found = gower(reference.ranges.points(some), reference.points)
    for row, crack in enumerate(some.to_dicts()):
        for place in range(0, reference.cracks.height, 53):
            other = reference.cracks.row(place, named=True)
            assert found[row, place] == pytest.approx(by_definition(crack, other, done), abs=2e-6)


def test_the_nearest_are_the_smallest_distances_in_order(done: pl.DataFrame, reference: FinishedCracks) -> None:
    some = done.head(40)
    rows, found = nearest(reference, some)
    everything = np.sort(gower(reference.ranges.points(some), reference.points), axis=1)[:, :10]
    assert found == pytest.approx(everything)
    assert (np.diff(found, axis=1) >= 0).all()
    itself = [reference.cracks["crack_id"][row] for row in rows[:, 0].tolist()]
    assert np.mean([a == b for a, b in zip(itself, some["crack_id"], strict=True)]) > 0.9


def test_of_equally_near_cracks_the_latest_are_shown(done: pl.DataFrame) -> None:
    days = pl.date_range(date(2025, 1, 1), date(2025, 1, 30), eager=True)
    same = finished_cracks(pl.concat([done.head(1)] * 30).with_columns(done_on=days))
    rows, found = nearest(same, done.head(1))
    assert (found == 0).all()
    assert same.cracks["done_on"].gather(rows[0].tolist()).to_list() == days.sort(descending=True).head(10).to_list()


def test_chunks_change_nothing(done: pl.DataFrame, reference: FinishedCracks, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = nearest(reference, done.head(60))
    monkeypatch.setattr(comparable, "CHUNK", 7 * reference.cracks.height)
    parts = nearest(reference, done.head(60))
    assert (whole[0] == parts[0]).all()
    assert (whole[1] == parts[1]).all()


def test_the_latest_cracks_are_kept_where_there_are_very_many(
    done: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(comparable, "MOST_RECORDS", 100)
    kept = finished_cracks(done).cracks
    assert kept.height == 100
    day = kept["done_on"].min()
    assert isinstance(day, date)
    assert done.filter(pl.col("done_on") > day).height <= 100


def test_the_usual_distance_is_the_95th_percentile_of_leave_one_out(
    done: pl.DataFrame, reference: FinishedCracks
) -> None:
    distances = gower(reference.points, reference.points)
    np.fill_diagonal(distances, np.inf)
    assert reference.usual == pytest.approx(np.quantile(distances.min(axis=1), 0.95), rel=0.1)
    _, found = nearest(reference, done)
    assert reference.usual is not None
    assert np.mean(found[:, 1] > reference.usual) == pytest.approx(0.05, abs=0.03)


def test_a_measurement_outside_what_was_done_is_named(done: pl.DataFrame, reference: FinishedCracks) -> None:
    inside = done.drop_nulls(["width_mm", "direction"]).head(1)
    odd = pl.concat([inside, inside.with_columns(length_m=pl.lit(40.0)), inside.with_columns(resin=pl.lit("grout"))])
    plain, long, grout = unlike(reference, odd, *nearest(reference, odd))
    assert plain is None
    assert long is not None
    longest = float(np.max(done["length_m"].to_numpy()))
    assert long.words.startswith("No finished crack is like this one: length 40 m (yours run ")
    assert f" to {longest:.4g} m)" in long.words
    assert grout is not None
    assert grout.measurements == ("resin grout (never done)",)


@pytest.mark.parametrize(
    ("wall_mm", "said"), [(200.0, ()), (198.0, ("wall thickness 198 mm (yours run 203.2 to 254 mm)",))]
)
def test_a_wall_by_its_round_name_is_one_that_was_done(
    done: pl.DataFrame, wall_mm: float, said: tuple[str, ...]
) -> None:
    eight_or_ten = pl.when(pl.int_range(pl.len()) % 2 == 0).then(203.2).otherwise(254.0)
    own = finished_cracks(done.with_columns(wall_thickness_mm=eight_or_ten))
    here = done.drop_nulls(["length_m", "width_mm", "direction"]).head(1)
    here = here.with_columns(wall_thickness_mm=pl.lit(wall_mm))
    found = unlike(own, here, *nearest(own, here))[0]
    assert (found.measurements if found else ()) == said


def test_what_was_never_recorded_makes_no_crack_unlike_any(done: pl.DataFrame) -> None:
    blank = {"wall_thickness_mm": pl.Float64, "movement": pl.String}
    never = done.with_columns(pl.lit(None, kind).alias(name) for name, kind in blank.items())
    known = done.filter(pl.all_horizontal(pl.col("width_mm", "direction", *blank).is_not_null())).head(1)
    some = finished_cracks(never)
    assert unlike(some, known, *nearest(some, known)) == [None]


def test_a_crack_far_from_all_others_names_what_parts_it_most(done: pl.DataFrame, reference: FinishedCracks) -> None:
    rare = {"direction": "stepped", "movement": "growing", "access": "tight", "resin": "urethane_foam"}
    widest = done.select(pl.col("width_mm").max()).item()
    odd = done.head(1).with_columns(pl.lit(word).alias(name) for name, word in rare.items())
    odd = odd.with_columns(water=pl.lit("dry"), width_mm=pl.lit(widest))
    found = unlike(reference, odd, *nearest(reference, odd))[0]
    assert found is not None
    assert 1 <= len(found.measurements) <= 2
    assert all(said.endswith(" on the closest") for said in found.measurements)


def test_what_matches_and_what_differs_is_said(reference: FinishedCracks) -> None:
    blank = {"movement": None, "direction": "vertical", "access": "open", "resin": "epoxy", "season": "spring"}
    here = pl.DataFrame([{**blank, "length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200.0, "water": "damp"}])
    there = pl.DataFrame([{**blank, "length_m": 2.5, "width_mm": 2.0, "wall_thickness_mm": 200.0, "water": "dry"}])
    said = compare(reference.ranges, here, there).row(0, named=True)
    assert said["alike"] == "length, wall thickness, direction, access, resin, season"
    assert said["differs"] == "width 0.5 mm here, 2 mm there; water damp here, dry there"
    assert (said["matching"], said["beside"]) == (6, 8)


def test_a_length_in_whole_feet_is_said_in_whole_feet(reference: FinishedCracks) -> None:
    facts: dict[str, Any] = dict.fromkeys(("movement", "direction", "access", "resin", "season"))
    facts |= {"width_mm": 0.5, "wall_thickness_mm": 203.2, "water": "damp"}
    here, there = ([{**facts, "length_m": feet * 0.3048}] for feet in (3, 8))  # NIST SP 811, Appendix B.8
    said = compare(reference.ranges, pl.DataFrame(here), pl.DataFrame(there)).row(0, named=True)
    with units.displayed("us"):
        assert units.in_text(said["differs"]) == "length 3\u202fft here, 8\u202fft there"


def test_no_history_has_nothing_comparable(done: pl.DataFrame) -> None:
    nothing = finished_cracks(done.clear())
    rows, distances = nearest(nothing, done.head(2))
    assert rows.shape == distances.shape == (2, 0)
    assert nothing.usual is None
    assert unlike(nothing, done.head(2), rows, distances) == [None, None]

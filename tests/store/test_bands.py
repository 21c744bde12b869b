"""The SELECTs that hold what the contract also names: seasons and bands must agree with it."""

import itertools
from collections.abc import Callable

import pytest

from analytics.answers.records import Records
from analytics.contract.dimensions import DIMENSIONS
from analytics.contract.seasons import Hemisphere
from analytics.store import Ask
from tests.histories import CRACK, DONE_JOB
from tests.worlds import SEASON_OF_MONTH

Opener = Callable[..., Records]


@pytest.mark.parametrize("hemisphere", ["north", "south"])
def test_seasons_are_the_meteorological_ones(records_of: Opener, hemisphere: Hemisphere) -> None:
    records = records_of({"jobs": [DONE_JOB]})
    rows = Ask(records.store, records.as_of, hemisphere)("seasons").rows()
    turned = 6 if hemisphere == "south" else 0
    assert dict(rows) == {(month + turned - 1) % 12 + 1: season for month, season in SEASON_OF_MONTH.items()}


EDGES = {
    "width_band": ("width_mm", (0.01, 0.3, 1, 3, 5, 100)),
    "thickness_band": ("wall_thickness_mm", (75, 190, 230, 280, 1500)),
}
"""The column cut into each band; what is allowed at least and at most, and the edges between."""


@pytest.mark.parametrize("name", EDGES)
def test_bands_meet_without_a_gap_and_an_edge_belongs_to_the_band_above(records_of: Opener, name: str) -> None:
    column, (*starts, most) = EDGES[name]
    values = [value for start, end in itertools.pairwise((*starts, most)) for value in (start, end - 0.001)]
    cracks = [{**CRACK, "crack_id": f"K-{i}", column: value} for i, value in enumerate([*values, most, None])]
    found = records_of({"jobs": [DONE_JOB], "cracks": cracks}).ask("follow_up")
    bands = dict(found.select("crack_id", name).rows())
    declared = DIMENSIONS[name].values
    expected = [band for band in declared for _ in range(2)]
    assert [bands[f"K-{i}"] for i in range(len(cracks))] == [*expected, declared[-1], None]


def test_the_void_is_width_by_wall_by_length(records_of: Opener) -> None:
    crack = {**CRACK, "width_mm": 0.508, "wall_thickness_mm": 203.2, "length_m": 2.4384}
    void = records_of({"jobs": [DONE_JOB], "cracks": [crack]}).ask("follow_up")["void_litres"].item()
    assert void == pytest.approx(0.251705, abs=5e-7)  # 0.020 in x 8 in x 96 in = 15.36 in3 (arithmetic, 1 in = 25.4 mm)


def test_a_job_s_charge_is_shared_by_length_only_where_every_length_is_known(records_of: Opener) -> None:
    def shares(second_m: float | None) -> dict[str, float | None]:
        cracks = [{**CRACK, "length_m": 2}, {**CRACK, "crack_id": "K-2", "length_m": second_m}]
        found = records_of({"jobs": [{**DONE_JOB, "price_charged": 500}], "cracks": cracks}).ask("crack_prices")
        return dict(found.select("crack_id", "price_share").rows())

    assert shares(3.0) == {"K-1": 200.0, "K-2": 300.0}  # 500 x 2 / 5 and 500 x 3 / 5 (arithmetic)
    assert shares(None) == {"K-1": None, "K-2": None}  # not 500 for the 2 m known: the other crack took part of it

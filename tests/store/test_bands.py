"""The SELECTs that hold what the contract also names: seasons and bands must agree with it."""

import itertools
from collections.abc import Callable
from datetime import date

import pytest

from analytics.answers.records import Records
from analytics.contract.dimensions import DIMENSIONS
from analytics.contract.seasons import Hemisphere, season
from analytics.store import Ask
from tests.histories import CRACK, DONE_JOB

Opener = Callable[..., Records]


@pytest.mark.parametrize("hemisphere", ["north", "south"])
def test_seasons_are_the_meteorological_ones(records_of: Opener, hemisphere: Hemisphere) -> None:
    records = records_of({"jobs": [DONE_JOB]})
    rows = Ask(records.store, records.as_of, hemisphere)("seasons").rows()
    assert dict(rows) == {m: season(date(2026, m, 15), hemisphere) for m in range(1, 13)}


@pytest.mark.parametrize("name", ["width_band", "thickness_band"])
def test_bands_meet_without_a_gap_and_are_named_as_declared(records_of: Opener, name: str) -> None:
    rows = records_of({"jobs": [DONE_JOB]}).ask(f"{name}s").rows()
    assert [band for _, _, band in rows] == list(DIMENSIONS[name].values)
    assert all(above[0] == below[1] for below, above in itertools.pairwise(rows))


@pytest.mark.parametrize(
    ("width", "band"), [(0.29, "under 0.3 mm"), (0.3, "0.3 to 1 mm"), (5, "5 mm and over"), (None, None)]
)
def test_an_edge_belongs_to_the_band_above(records_of: Opener, width: float | None, band: str | None) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [{**CRACK, "width_mm": width}]})
    assert records.ask("follow_up")["width_band"].to_list() == [band]


def test_the_void_is_width_by_wall_by_length(records_of: Opener) -> None:
    crack = {**CRACK, "width_mm": 0.508, "wall_thickness_mm": 203.2, "length_m": 2.4384}
    void = records_of({"jobs": [DONE_JOB], "cracks": [crack]}).ask("follow_up")["void_litres"].item()
    assert void == pytest.approx(0.251705, abs=5e-7)  # 0.020 in x 8 in x 96 in = 15.36 in3 (arithmetic, 1 in = 25.4 mm)

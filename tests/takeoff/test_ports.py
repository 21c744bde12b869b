"""Ports: one at each end, and never further apart than the spacing."""

from itertools import pairwise

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.errors import LeakbackError
from analytics.takeoff.ports import port_count, port_count_expr, port_positions_mm

INCH_MM = 25.4

# Arithmetic: ports at both ends, ceil(length / spacing) + 1.
COUNTS = [
    (96 * INCH_MM / 1000, 8 * INCH_MM, 13),
    (96 * INCH_MM / 1000, 12 * INCH_MM, 9),
    (2.44, 203.2, 14),  # 1.6 mm longer than twelve gaps
    (2.4, 200.0, 13),  # 2.4 / 0.2 is a little under 12 in floating point
    (2.1, 300.0, 8),  # 2.1 / 0.3 is a little over 7
    (0.05, 200.0, 2),
    (1e-9, 200.0, 2),
]


@pytest.mark.parametrize(("length_m", "spacing_mm", "ports"), COUNTS)
def test_counts(length_m: float, spacing_mm: float, ports: int) -> None:
    assert port_count(length_m, spacing_mm) == ports


@settings(max_examples=500, deadline=None, derandomize=True)
@given(length_mm=st.integers(1, 50_000), spacing_tenths=st.integers(250, 10_000))
def test_metric_measurements_never_fall_into_floating_point(length_mm: int, spacing_tenths: int) -> None:
    gaps = -(-length_mm * 10 // spacing_tenths)
    assert port_count(length_mm / 1000, spacing_tenths / 10) == gaps + 1


@settings(max_examples=500, deadline=None, derandomize=True)
@given(length_64ths=st.integers(1, 120_000), spacing_64ths=st.integers(64, 2_500))
def test_inches_and_their_fractions_never_fall_into_floating_point(length_64ths: int, spacing_64ths: int) -> None:
    gaps = -(-length_64ths // spacing_64ths)
    assert port_count(length_64ths / 64 * INCH_MM / 1000, spacing_64ths / 64 * INCH_MM) == gaps + 1


@settings(max_examples=300, deadline=None, derandomize=True)
@given(length_m=st.floats(0.01, 50), spacing_mm=st.floats(25, 1000))
def test_positions_run_evenly_from_end_to_end_and_never_exceed_the_spacing(length_m: float, spacing_mm: float) -> None:
    places = port_positions_mm(length_m, spacing_mm)
    gaps = [upper - lower for lower, upper in pairwise(places)]
    assert len(places) == port_count(length_m, spacing_mm)
    assert places[0] == 0
    assert places[-1] == pytest.approx(length_m * 1000, rel=1e-12)
    assert max(gaps) <= spacing_mm + 0.001
    assert max(gaps) - min(gaps) < 1e-6


def test_one_port_fewer_would_exceed_the_spacing() -> None:
    # 2.44 m with 13 ports would leave 203.33 mm between them.
    assert port_positions_mm(2.44, 203.2)[1] == pytest.approx(2440 / 13)
    assert 2440 / 12 > 203.2


def test_expression_agrees_with_the_scalar_and_keeps_what_is_not_known() -> None:
    lengths, spacings, ports = zip(*COUNTS, strict=True)
    frame = pl.DataFrame({"length_m": [*lengths, None, 1.0], "port_spacing_mm": [*spacings, 200.0, None]})
    counted = frame.select(ports=port_count_expr())["ports"]
    assert counted.dtype == pl.Int64
    assert counted.to_list() == [*ports, None, None]


@pytest.mark.parametrize(("length_m", "spacing_mm", "named"), [(0, 200, "length_m"), (2.4, -200, "spacing_mm")])
def test_an_impossible_measurement_is_named(length_m: float, spacing_mm: float, named: str) -> None:
    for act in (port_count, port_positions_mm):
        with pytest.raises(LeakbackError, match=f"{named} is"):
            act(length_m, spacing_mm)

"""Ports along a crack: one at each end, and never further apart than the spacing."""

from math import ceil
from typing import TypeVar

import numpy as np
import polars as pl

from analytics.takeoff.require import require_positive

MM_PER_M = 1000
ROUNDING = 1e-6
"""Share of one spacing by which floating point may overshoot: under a micrometre, far finer than a tape reads."""

Quantity = TypeVar("Quantity", float, pl.Expr)


def port_count(length_m: float, spacing_mm: float) -> int:
    """Ports for a crack, at least two; LeakbackError where a measurement is not above 0.

    2.4 m at 200 mm is 12 gaps and 13 ports, though 2.4 / 0.2 is a little under 12 and 2.1 / 0.3 a little over 7.
    """
    require_positive(length_m=length_m, spacing_mm=spacing_mm)
    return max(1, ceil(_gaps(length_m, spacing_mm))) + 1


def port_count_expr() -> pl.Expr:
    """Ports for each crack, Int64, from length_m and port_spacing_mm; null where either is null."""
    gaps = _gaps(pl.col("length_m"), pl.col("port_spacing_mm")).ceil().cast(pl.Int64)
    return gaps.clip(lower_bound=1) + 1


def port_positions_mm(length_m: float, spacing_mm: float) -> tuple[float, ...]:
    """Distances of the ports along the crack from its lowest end, mm, evenly spaced, the lowest port first."""
    places = np.linspace(0, length_m * MM_PER_M, port_count(length_m, spacing_mm))
    return tuple(places.tolist())


def _gaps(length_m: Quantity, spacing_mm: Quantity) -> Quantity:
    return length_m * MM_PER_M / spacing_mm - ROUNDING

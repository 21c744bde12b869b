"""Volumes to be filled: the void of a crack through the wall, and the seal on the wall's surface.

Scalars are checked; the expressions take columns as the contract accepts them, null where any is null.
"""

from typing import TypeVar

import polars as pl

from analytics.contract.references import reference
from analytics.takeoff.require import require_positive

ML_PER_LITRE = 1000
Quantity = TypeVar("Quantity", float, pl.Expr)


def void_millilitres(width_mm: float, wall_mm: float, length_m: float) -> float:
    """Void of a crack through the wall, mL; LeakbackError where a measurement is not above 0."""
    require_positive(width_mm=width_mm, wall_mm=wall_mm, length_m=length_m)
    return _void_ml(width_mm, wall_mm, length_m)


def void_litres(width_mm: float, wall_mm: float, length_m: float) -> float:
    """Void of a crack through the wall, L; LeakbackError where a measurement is not above 0."""
    return void_millilitres(width_mm, wall_mm, length_m) / ML_PER_LITRE


def void_litres_expr() -> pl.Expr:
    """Void of each crack, L, from width_mm, wall_thickness_mm and length_m."""
    return _void_ml(pl.col("width_mm"), pl.col("wall_thickness_mm"), pl.col("length_m")) / ML_PER_LITRE


def seal_millilitres(length_m: float) -> float:
    """Surface seal along a crack, at the usual strip and thickness, mL; LeakbackError where length is not above 0."""
    require_positive(length_m=length_m)
    return _seal_ml(length_m)


def seal_litres_expr() -> pl.Expr:
    """Surface seal along each crack, at the usual strip and thickness, L, from length_m."""
    return _seal_ml(pl.col("length_m")) / ML_PER_LITRE


def _void_ml(width_mm: Quantity, wall_mm: Quantity, length_m: Quantity) -> Quantity:
    return width_mm * wall_mm * length_m * reference("void_of_through_crack").number


def _seal_ml(length_m: Quantity) -> Quantity:
    strip_mm = 2 * reference("seal_strip_each_side").number
    return length_m * (strip_mm * reference("seal_thickness").number)

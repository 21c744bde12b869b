"""Pressure of standing water at the foot of a wall."""

from analytics.contract.references import reference
from analytics.takeoff.require import require_positive


def head_kpa(height_m: float) -> float:
    """Pressure under water of that height, kPa; LeakbackError where it is not above 0."""
    require_positive(height_m=height_m)
    return height_m * reference("water_head").number


def head_psi(height_m: float) -> float:
    """Pressure under water of that height, psi; LeakbackError where it is not above 0."""
    return head_kpa(height_m) / reference("psi").number

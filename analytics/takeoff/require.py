"""Refuses measurements that no wall can have."""

from math import isfinite

from analytics.errors import LeakbackError


def require_positive(**measurements: float) -> None:
    """LeakbackError naming the first measurement that is not a finite number above 0."""
    for name, value in measurements.items():
        if not (isfinite(value) and value > 0):
            message = f"{name} is {value:g}: it must be a number above 0; measure it again"
            raise LeakbackError(message)

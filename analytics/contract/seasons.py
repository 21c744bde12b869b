"""Meteorological seasons by name; ``store/selects/seasons.sql`` says which one a month falls in."""

from typing import Literal

Hemisphere = Literal["north", "south"]
SEASONS = ("winter", "spring", "summer", "autumn")
"""In the order of the northern year, from December."""

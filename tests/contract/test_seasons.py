"""Meteorological seasons, in both hemispheres."""

from collections import Counter
from datetime import date, timedelta
from typing import cast

import polars as pl
import pytest

from analytics.contract.seasons import (
    SEASONS,
    Hemisphere,
    season,
    season_expr,
    season_year,
    season_year_expr,
)
from analytics.errors import UnknownNameError

DAYS = [date(2022, 12, 1) + timedelta(days=n) for n in range(365 + 366 + 365)]  # 2024 is a leap year


def test_months_of_the_seasons() -> None:
    # Climatology practice: DJF, MAM, JJA, SON.
    months = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring"}
    months |= {6: "summer", 7: "summer", 8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"}
    assert {month: season(date(2025, month, 15)) for month in months} == months


def test_lengths_with_december_counted_to_the_next_years_winter() -> None:
    # Climatology practice: DJF 90 or 91 days, MAM 92, JJA 92, SON 91.
    lengths = Counter((season_year(day), season(day)) for day in DAYS)
    assert len(lengths) == 3 * len(SEASONS)
    for year, winter in ((2023, 90), (2024, 91), (2025, 90)):
        assert [lengths[year, name] for name in SEASONS] == [winter, 92, 92, 91]


def test_south_is_turned_around_by_six_months() -> None:
    opposite = {"winter": "summer", "summer": "winter", "spring": "autumn", "autumn": "spring"}
    assert all(season(day, "south") == opposite[season(day)] for day in DAYS)
    assert season(date(2025, 1, 15), "south") == "summer"


@pytest.mark.parametrize("hemisphere", ["north", "south"])
def test_expressions_agree_with_the_scalars_on_every_day(hemisphere: Hemisphere) -> None:
    frame = pl.DataFrame({"done_on": [*DAYS, None]}).select(
        season=season_expr("done_on", hemisphere), year=season_year_expr("done_on")
    )
    assert frame.schema == {"season": pl.String, "year": pl.Int64}
    assert frame["season"].to_list() == [*(season(day, hemisphere) for day in DAYS), None]
    assert frame["year"].to_list() == [*map(season_year, DAYS), None]


def test_an_unknown_hemisphere_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="did you mean north"):
        season(date(2025, 1, 1), cast("Hemisphere", "northern"))
    with pytest.raises(UnknownNameError, match="hemisphere"):
        season_expr("done_on", cast("Hemisphere", "east"))

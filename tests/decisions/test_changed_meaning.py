"""A unit that changed without a word is found; prices that rise and work that varies are left alone."""

import numpy as np
import polars as pl
import pytest

from analytics.decisions.changed_meaning import FACTOR, jumps

YEARS = (2021, 2022, 2023)


def jobs(rng: np.random.Generator, a_year: int = 60, drift: float = 1.0) -> pl.DataFrame:
    parts = [
        pl.DataFrame(
            {
                "year": [year] * a_year,
                "resin_litres": rng.lognormal(-0.5, 0.6, a_year) * drift ** (year - YEARS[0]),
                "labour_minutes": rng.lognormal(4.8, 0.4, a_year),
                "wall_temp_c": rng.normal(12, 4, a_year),
            }
        )
        for year in YEARS
    ]
    return pl.concat(parts)


def from_2023(frame: pl.DataFrame, column: str, value: pl.Expr) -> pl.DataFrame:
    return frame.with_columns(pl.when(pl.col("year") >= 2023).then(value).otherwise(column).alias(column))


@pytest.mark.parametrize(
    ("column", "value", "change"),
    [
        ("resin_litres", pl.col("resin_litres") / 3.785, 1 / 3.785),
        ("labour_minutes", pl.col("labour_minutes") / 60, 1 / 60),
        ("wall_temp_c", pl.col("wall_temp_c") * 1.8 + 32, 12 * 0.8 + 32),
    ],
)
def test_a_changed_unit_is_found_and_its_size_told(column: str, value: pl.Expr, change: float) -> None:
    frame = from_2023(jobs(np.random.default_rng(1)), column, value)
    found, tried = jumps(frame)
    assert [(jump.column, jump.year_before, jump.year_after) for jump in found] == [(column, 2022, 2023)]
    assert found[0].low < change < found[0].high
    assert tried == 6


def test_prices_that_rise_by_a_tenth_a_year_did_not_change_their_meaning() -> None:
    found, _ = jumps(jobs(np.random.default_rng(2), a_year=400, drift=1.1))
    assert found == []


def test_too_few_jobs_in_a_year_and_the_year_is_passed_over() -> None:
    frame = jobs(np.random.default_rng(3)).filter((pl.col("year") != 2022) | (pl.int_range(pl.len()).over("year") < 19))
    found, tried = jumps(frame)
    assert (found, tried) == ([], 3)


def test_blank_and_zero_cells_are_passed_over() -> None:
    frame = jobs(np.random.default_rng(4)).with_columns(offset_mm=pl.lit(0.0), port_count=pl.lit(None, pl.Float64))
    assert jumps(frame)[1] == 6


def test_nothing_at_all_is_nothing_found() -> None:
    assert jumps(jobs(np.random.default_rng(5)).clear()) == ([], 0)


def test_the_margin_is_what_the_page_says() -> None:
    assert FACTOR == 1.5

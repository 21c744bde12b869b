from typing import Any

import polars as pl

from analytics.charts import palette
from analytics.charts.heat import rate_grid, share_grid


def grid(**shares: tuple[float, float]) -> pl.DataFrame:
    rows = [
        (name, year, share) for name, pair in shares.items() for year, share in zip((2025, 2026), pair, strict=True)
    ]
    return pl.DataFrame(rows, schema=["row", "column", "share"], orient="row")


def spec(frame: pl.DataFrame) -> dict[str, Any]:
    plot = share_grid(frame)
    assert plot is not None
    found: dict[str, Any] = plot.to_dict()
    return found


def test_each_square_says_its_percent_and_never_all_where_something_is_wanting() -> None:
    [rows] = spec(grid(litres=(0.9999, 0.944), minutes=(1.0, 0.0001))).pop("datasets").values()
    assert [row["label"] for row in rows] == ["99", "94", "100", "1"]


def test_rows_and_columns_stand_in_the_order_they_come() -> None:
    drawn = spec(grid(zinc=(0.5, 0.6), alpha=(0.7, 0.8)))["layer"][0]["encoding"]
    assert drawn["y"]["sort"] == ["zinc", "alpha"]
    assert drawn["x"]["sort"] == ["2025", "2026"]


def test_the_darkest_square_leaves_its_number_readable() -> None:
    """Ink on the darkest square stands at 4.5:1 or better, light and dark (WCAG 2.2, 1.4.3)."""
    _, most = spec(grid(a=(0.0, 1.0)))["layer"][0]["encoding"]["opacity"]["scale"]["range"]
    modes: tuple[palette.Mode, ...] = ("light", "dark")
    for mode in modes:
        ink, accent, ground = (rgb(palette.COLOURS[role].on(mode)) for role in ("ink", "accent", "page"))
        square = [most * a + (1 - most) * g for a, g in zip(accent, ground, strict=True)]
        bright, dim = sorted((luminance(ink), luminance(square)), reverse=True)
        assert (bright + 0.05) / (dim + 0.05) >= 4.5


def rgb(colour: str) -> list[float]:
    return [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]


def luminance(colour: list[float]) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_nothing_to_draw_is_no_chart() -> None:
    assert share_grid(grid().cast({"share": pl.Float64})) is None


def test_a_rate_says_its_count_beneath_and_is_dark_where_it_is_high() -> None:
    frame = pl.DataFrame(
        {"row": ["winter", "winter"], "column": ["0 to 3", "3 to 6"], "value": [6.04, None], "count": [14, 0]}
    )
    plot = rate_grid(frame, "months of age")
    assert plot is not None
    drawn = plot.to_dict()
    rows = [row for each in drawn["datasets"].values() for row in each if "under" in row]
    assert [(row["label"], row["under"], row["dark"]) for row in rows[:2]] == [("6.0", "14", 6.04), ("–", "0", 0.0)]
    assert drawn["layer"][0]["encoding"]["opacity"]["scale"]["domain"] == [0, 6.04]


def test_no_rate_at_all_is_no_chart() -> None:
    frame = pl.DataFrame(
        {"row": ["a"], "column": ["b"], "value": [None], "count": [0]}, schema_overrides={"value": pl.Float64}
    )
    assert rate_grid(frame, "months of age") is None

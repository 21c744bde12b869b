"""The reliability curve draws what it is given, and nothing where nothing may be said."""

import polars as pl

from analytics.charts.reliability import reliability_curve


def bins(*values: float | None) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "foreseen": [0.02 * (place + 1) for place in range(len(values))],
            "value": values,
            "low": [None if value is None else value / 2 for value in values],
            "high": [None if value is None else value * 2 for value in values],
            "leak_backs": list(range(len(values))),
        },
        schema_overrides=dict.fromkeys(("value", "low", "high"), pl.Float64),
    )


def test_groups_without_a_value_are_left_out() -> None:
    plot = reliability_curve(bins(0.02, None, 0.07), months=12)
    assert plot
    spec = plot.to_dict()
    drawn = [len(rows) for rows in spec["datasets"].values()]
    assert sorted(drawn) == [2, 2, 2]  # the line's two ends, the points, and their labels


def test_both_axes_start_at_nought_and_reach_past_the_data() -> None:
    plot = reliability_curve(bins(0.02, 0.05, 0.12), months=12)
    assert plot
    scaled = [layer["encoding"] for layer in plot.to_dict()["layer"] if "scale" in layer["encoding"]["x"]]
    across, up = (scaled[0][side]["scale"]["domain"] for side in ("x", "y"))
    assert across[0] == up[0] == 0
    assert across[1] > 0.06
    assert up[1] > 0.24


def test_nothing_to_say_is_nothing_to_draw() -> None:
    assert reliability_curve(bins(None, None), months=12) is None

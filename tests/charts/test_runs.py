"""Runs over time: a plot a crew, all on the same axes, every column it names in its data."""

from datetime import date
from typing import Any

import polars as pl

from analytics.charts.runs import crew_runs


def runs() -> pl.DataFrame:
    months = [date(2024, month, 1) for month in range(1, 7)]
    return pl.DataFrame(
        {
            "crew_id": ["C01"] * 6 + ["C02"] * 3,
            "month": months + months[3:],
            "height": [0.0, 1.0, 2.5, 0.4, 0.0, 9.0, 0.0, 0.2, 0.1],
            "limit": [2.0] * 6 + [1.0] * 3,
            "alarm": [False, False, True, False, False, True, False, False, False],
        }
    )


def _fields(node: Any) -> set[str]:
    if isinstance(node, dict):
        found = {node["field"]} if isinstance(node.get("field"), str) else set()
        return found.union(*(_fields(value) for value in node.values()))
    return set().union(*(_fields(value) for value in node)) if isinstance(node, list) else set()


def test_a_plot_a_crew_named_with_its_alarms() -> None:
    titles = [plot.to_dict()["title"]["text"] for plot in crew_runs(runs())]
    assert titles == ["C01: past its limit 2 times", "C02: within its limit"]


def test_the_axes_are_the_same_for_all() -> None:
    domains = []
    for plot in crew_runs(runs()):
        spec = plot.to_dict()
        line = next(layer for layer in spec["layer"] if layer["mark"].get("interpolate") == "step-after")
        domains.append((line["encoding"]["x"]["scale"]["domain"], line["encoding"]["y"]["scale"]["domain"]))
    assert domains[0] == domains[1]


def test_every_column_named_is_in_the_data() -> None:
    for plot in crew_runs(runs()):
        spec = plot.to_dict()
        data = spec["datasets"]
        for layer in spec["layer"]:
            rows = data[layer["data"]["name"]] if "data" in layer else data[spec["data"]["name"]]
            assert all(_fields(layer["encoding"]) <= set(row) for row in rows)


def test_a_height_far_over_the_limit_is_cut() -> None:
    data = crew_runs(runs())[0].to_dict()["datasets"]
    heights = [row["at"] for rows in data.values() for row in rows if "at" in row]
    assert max(heights) == 1.5


def test_no_run_is_no_plot() -> None:
    assert crew_runs(runs().clear()) == ()

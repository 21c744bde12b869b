"""When each rule holds for a planned crack: one plain condition a rule, by the rule's id."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from datetime import date
from typing import get_type_hints

import polars as pl

from analytics.contract.descriptions import label
from analytics.contract.policy import Thresholds

TOLERANCE = 1e-9
"""What unit conversion may add or take: 0.005 in is 0.127 mm, and a hair of floating point must not say otherwise."""

KEY_MEASUREMENTS = ("direction", "width_mm", "offset_mm", "length_m")
"""What must be recorded before a crack is called standard, by column."""


@dataclass(frozen=True, slots=True)
class PlannedCrack:
    """One row of the planned cracks, null where not known, and how many wide cracks its job has."""

    crack_id: str
    job_id: str
    direction: str | None
    movement: str | None
    water: str | None
    resin: str | None
    length_m: float | None
    width_mm: float | None
    offset_mm: float | None
    wall_thickness_mm: float | None
    wall_temp_c: float | None
    port_spacing_mm: float | None
    site_leak_backs: int | None
    asked_on: date | None
    decided_on: date | None
    decision: str | None
    reference: str | None
    several: int


def each_crack(frame: pl.DataFrame, limits: Thresholds) -> Iterator[PlannedCrack]:
    """Each row of the frame ``planned_cracks``; a measurement that is not a number counts as not recorded.

    The wide cracks of a job are counted over the whole frame: hand in every crack of a job.
    """
    types = {float | None: pl.Float64, int | None: pl.Int64, date | None: pl.Date}
    hints = get_type_hints(PlannedCrack)
    names = [field.name for field in fields(PlannedCrack) if field.name != "several"]
    typed = frame.select(pl.col(name).cast(types.get(hints[name], pl.String)) for name in names)
    wide = pl.col("width_mm") >= limits.effective("several_mm") - TOLERANCE
    counted = typed.with_columns(pl.selectors.float().fill_nan(None)).with_columns(
        several=wide.sum().over("job_id").cast(pl.Int64)
    )
    return (PlannedCrack(**row) for row in counted.iter_rows(named=True))


def missing(crack: PlannedCrack) -> list[str]:
    """The plain names of the key measurements that are not recorded."""
    return [label(name) for name in KEY_MEASUREMENTS if getattr(crack, name) is None]


def epoxy_class(crack: PlannedCrack, limits: Thresholds) -> str | None:
    """The class an epoxy needs at this wall's temperature: A, B or C; None without epoxy or temperature.

    ASTM C881, metric edition: A below 4 °C, B from 4 to 15 °C, C above 15 °C.
    """
    if crack.resin != "epoxy" or crack.wall_temp_c is None:
        return None
    if _under(crack.wall_temp_c, limits, "class_a_below_c"):
        return "A"
    return "C" if crack.wall_temp_c > limits.effective("class_c_above_c") + TOLERANCE else "B"


def _reaches(measured: float | None, limits: Thresholds, name: str) -> bool:
    return measured is not None and measured >= limits.effective(name) - TOLERANCE


def _under(measured: float | None, limits: Thresholds, name: str) -> bool:
    return measured is not None and measured < limits.effective(name) - TOLERANCE


def _too_far_apart(crack: PlannedCrack, limits: Thresholds) -> bool:
    spacing, thickness = crack.port_spacing_mm, crack.wall_thickness_mm
    if spacing is None or thickness is None:
        return False
    return spacing > limits.effective("spacing_to_thickness") * thickness + TOLERANCE


CONDITIONS: dict[str, Callable[[PlannedCrack, Thresholds], bool]] = {
    "engineer_decided": lambda crack, _: crack.decision not in {None, "inject"},
    "engineer_asked": lambda crack, _: crack.asked_on is not None and crack.decision is None,
    "horizontal": lambda crack, _: crack.direction == "horizontal",
    "stepped": lambda crack, _: crack.direction == "stepped",
    "offset": lambda crack, limits: _reaches(crack.offset_mm, limits, "offset_mm"),
    "wide": lambda crack, limits: _reaches(crack.width_mm, limits, "wide_mm"),
    "several": lambda crack, limits: _reaches(crack.several, limits, "several_count"),
    "growing": lambda crack, _: crack.movement == "growing",
    "leaked_back_repeatedly": lambda crack, limits: _reaches(crack.site_leak_backs, limits, "site_leak_backs"),
    "not_measured": lambda crack, _: bool(missing(crack)),
    "any_offset": lambda crack, _: crack.offset_mm is not None and crack.offset_mm > 0,
    "too_narrow": lambda crack, limits: _under(crack.width_mm, limits, "too_narrow_mm"),
    "hard_to_fill": lambda crack, limits: _under(crack.width_mm, limits, "hard_to_fill_mm"),
    "wide_taper": lambda crack, limits: _reaches(crack.width_mm, limits, "taper_mm"),
    "epoxy_on_wet": lambda crack, _: crack.resin == "epoxy" and crack.water in {"damp", "seeping", "running"},
    "cold_wall": lambda crack, limits: _under(crack.wall_temp_c, limits, "cold_wall_c"),
    "ports_too_far_apart": _too_far_apart,
    "seasonal_with_epoxy": lambda crack, _: crack.movement == "seasonal" and crack.resin == "epoxy",
    "leaked_back_before": lambda crack, _: (crack.site_leak_backs or 0) > 0,
    "epoxy_class": lambda crack, limits: epoxy_class(crack, limits) is not None,
}
"""Whether a rule holds for a crack under the thresholds in force. A rule that cannot be judged does not hold."""

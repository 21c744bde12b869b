"""What the risk model looks at: each feature declared once, with its words, its columns and when it is known.

Litres and minutes are never features: they are known only once the work is done, and a crack that
takes much resin is not made to leak by it.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import cast

import polars as pl

from analytics.contract.columns import Known
from analytics.contract.seasons import SEASONS
from analytics.contract.tables import TABLES

WET = ("seeping", "running")
"""Water that comes out of the crack; damp is not."""
COLD_BELOW_C = 10.0
HAIRLINE_BELOW_MM = 0.25
USUAL_WIDTH_MM = 0.5
USUAL_LENGTH_M = 2.0
USUAL_WALL_MM = 200.0

_ORDER: tuple[Known, ...] = ("handed", "chosen", "done")
_DERIVED: dict[str, Known] = {"season": "handed", "together": "chosen"}


def _known(column: str) -> Known:
    """When a column is known, as the contract says."""
    if column in _DERIVED:
        return _DERIVED[column]
    table = TABLES["cracks"].columns() | TABLES["jobs"].columns()
    return cast("Known", (table[column].metadata or {})["known"])


@dataclass(frozen=True)
class Subject:
    """What one reason speaks about: a measurement, or measurements that act together.

    ``plain`` are the words where none of its features holds (for a number: where it is below average),
    ``unknown`` where it is not recorded, ``habit`` where the crew's habit stands in for what is not yet done.
    """

    name: str
    plain: str
    unknown: str
    habit: str = ""


@dataclass(frozen=True, eq=False)
class Feature:
    """One column of the model: ``value`` reads it from a crack's row and is null where it was not recorded.

    ``words`` say what it means where it holds or, for a number, where it is above the average. ``per`` says for a
    number what difference its ratio speaks of, ``step`` how much that is of its value.
    """

    name: str
    subject: Subject
    words: str
    value: pl.Expr
    yes_no: bool = True
    per: str = ""
    step: float = 1.0

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """The source columns, each once."""
        return tuple(dict.fromkeys(self.value.meta.root_names()))

    @cached_property
    def kind(self) -> Known:
        """When it is known: as late as the latest of its columns."""
        return max((_known(column) for column in self.columns), key=_ORDER.index)


WIDTH = Subject("width", "a narrower crack than most", "width not recorded")
LENGTH = Subject("length", "a shorter crack than most", "length not recorded")
WALL = Subject("wall", "a thinner wall than most", "wall thickness not recorded")
WATER = Subject("water", "a dry crack", "water not recorded")
MOVEMENT = Subject("movement", "a crack that is still", "movement not known")
DIRECTION = Subject("direction", "a vertical crack", "direction not recorded")
ACCESS = Subject("access", "an open wall", "access not recorded")
SEASON = Subject("season", "done in winter", "season not known")
COLD = Subject("cold", "a wall that is not cold", "wall temperature not recorded")
RESIN = Subject("resin", "epoxy", "resin not recorded")
SPACING = Subject("spacing", "ports no further apart than the wall is thick", "port spacing not recorded")
EPOXY_ON_WET = Subject("epoxy_on_wet", "no epoxy on a wet crack", "water or resin not recorded")
EPOXY_ON_COLD = Subject("epoxy_on_cold", "no epoxy on a cold wall", "wall temperature or resin not recorded")
CLEANED = Subject("cleaned", "not cleaned first", "cleaning not recorded", "how often this crew cleans the wall first")
DRIED = Subject("dried", "not dried first", "drying not recorded", "how often this crew dries the crack first")
TESTED = Subject("tested", "not tested with water", "water test not recorded", "how often this crew tests with water")
ALL_FACTS = Subject("together", "facts that together leak back less than each would say", "facts not recorded")


def _number(column: str) -> pl.Expr:
    """A measurement, also where the whole column is blank and so has no type."""
    return pl.col(column).cast(pl.Float64)


def _is(column: str, *words: str) -> pl.Expr:
    return pl.col(column).cast(pl.String).is_in(words)


def _step(column: str) -> pl.Expr:
    return pl.col(column).cast(pl.Boolean)


_wet = _is("water", *WET)
_cold = _number("wall_temp_c") < COLD_BELOW_C
_epoxy = _is("resin", "epoxy")


FEATURES = (
    Feature("hairline", WIDTH, "a hairline crack", _number("width_mm") < HAIRLINE_BELOW_MM),
    Feature(
        "log_width",
        WIDTH,
        "a wider crack than most",
        (_number("width_mm") / USUAL_WIDTH_MM).log(),
        yes_no=False,
        per="twice as wide",
        step=math.log(2),
    ),
    Feature(
        "length",
        LENGTH,
        "a longer crack than most",
        _number("length_m") - USUAL_LENGTH_M,
        yes_no=False,
        per="a metre longer",
    ),
    Feature(
        "wall_thickness",
        WALL,
        "a thicker wall than most",
        (_number("wall_thickness_mm") - USUAL_WALL_MM) / 100,
        yes_no=False,
        per="100 mm thicker",
    ),
    Feature("water_damp", WATER, "damp at the crack", _is("water", "damp")),
    Feature("water_seeping", WATER, "water seeping at the crack", _is("water", "seeping")),
    Feature("water_running", WATER, "water running from the crack", _is("water", "running")),
    Feature("movement_seasonal", MOVEMENT, "a crack that moves with the seasons", _is("movement", "seasonal")),
    Feature("movement_growing", MOVEMENT, "a crack that is growing", _is("movement", "growing")),
    Feature("direction_diagonal", DIRECTION, "a diagonal crack", _is("direction", "diagonal")),
    Feature("direction_horizontal", DIRECTION, "a horizontal crack", _is("direction", "horizontal")),
    Feature("direction_stepped", DIRECTION, "a stepped crack", _is("direction", "stepped")),
    Feature("access_finished", ACCESS, "a wall behind a finish", _is("access", "finished")),
    Feature("access_tight", ACCESS, "a tight place to work", _is("access", "tight")),
    *(
        Feature(f"season_{name}", SEASON, f"done in {name}", _is("season", name))
        for name in SEASONS
        if name != "winter"
    ),
    Feature("cold_wall", COLD, "a cold wall", _cold),
    Feature("urethane_foam", RESIN, "urethane foam", _is("resin", "urethane_foam")),
    Feature(
        "wide_spacing",
        SPACING,
        "ports further apart than the wall is thick",
        _number("port_spacing_mm") > _number("wall_thickness_mm"),
    ),
    Feature("epoxy_on_wet", EPOXY_ON_WET, "epoxy on a wet crack", _epoxy & _wet),
    Feature("epoxy_on_cold", EPOXY_ON_COLD, "epoxy on a cold wall", _epoxy & _cold),
    Feature("cleaned", CLEANED, "cleaned first", _step("cleaned")),
    Feature("dried", DRIED, "dried first", _step("dried")),
    Feature("water_tested", TESTED, "tested with water", _step("water_tested")),
)

STEPS = tuple(column for feature in FEATURES if feature.kind == "done" for column in feature.columns)
"""The steps done on the day: for a planned crack, the crew's habit stands in for them."""


TOGETHER = Feature(
    "together",
    ALL_FACTS,
    "facts that together leak back more than each would say",
    pl.col("together"),
    yes_no=False,
    per="as far apart as most",
)
"""The one feature that is learnt: what boosted trees find that the others leave unexplained (see ``boosting``)."""


def not_recorded(features: tuple[Feature, ...] = FEATURES) -> tuple[Feature, ...]:
    """One yes/no feature for each source column: that the measurement was not recorded."""
    subjects: dict[str, Subject] = {}
    for feature in features:
        for column in feature.columns:
            subjects.setdefault(column, feature.subject)
    return tuple(
        Feature(f"{column}_not_recorded", subject, subject.unknown, pl.col(column).is_null())
        for column, subject in subjects.items()
    )


BY_NAME = {feature.name: feature for feature in (*FEATURES, *not_recorded(), TOGETHER)}

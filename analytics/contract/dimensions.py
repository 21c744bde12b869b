"""What history may be grouped and narrowed by: each a column of the store's follow-up facts."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from analytics.contract import tables
from analytics.contract.descriptions import label
from analytics.contract.seasons import SEASONS
from analytics.errors import LeakbackError, UnknownNameError

NOT_RECORDED = "not recorded"
"""The group of what was not written down."""
WIDTH_BANDS = ("under 0.3 mm", "0.3 to 1 mm", "1 to 3 mm", "3 to 5 mm", "5 mm and over")
THICKNESS_BANDS = ("under 190 mm", "190 to 230 mm", "230 to 280 mm", "280 mm and over")


@dataclass(frozen=True)
class Dimension:
    """A grouping: its name in calls and answers, the facts' column, the words a person reads, its values in order."""

    name: str
    column: str
    words: str
    values: tuple[str, ...] = ()

    def rank(self, value: object) -> tuple[int, str]:
        """Where a value stands in the grouping's order; values not listed come last, by name."""
        text = str(value)
        return (self.values.index(text) if text in self.values else len(self.values), text)


DIMENSIONS = {
    dimension.name: dimension
    for dimension in (
        Dimension("resin", "resin", "resin", tables.RESINS),
        Dimension("season", "season", "season of the repair", SEASONS),
        Dimension("crew", "crew_id", "crew"),
        Dimension("branch", "branch", "branch"),
        Dimension("water", "water", "water at the crack", tables.WATERS),
        Dimension("direction", "direction", "direction", tables.DIRECTIONS),
        Dimension("movement", "movement", "movement", tables.MOVEMENTS),
        Dimension("width_band", "width_band", label("width_mm"), WIDTH_BANDS),
        Dimension("thickness_band", "thickness_band", label("wall_thickness_mm"), THICKNESS_BANDS),
        Dimension("access", "access", "access", tables.ACCESSES),
        Dimension("year", "year", "year of the repair"),
    )
}
_BY_COLUMN = {dimension.column: replace(dimension, name=dimension.column) for dimension in DIMENSIONS.values()}


def dimension(name: str) -> Dimension:
    """The dimension called ``name``; by its column's name it is called so in the answer. UnknownNameError otherwise."""
    found = DIMENSIONS.get(name) or _BY_COLUMN.get(name)
    if found is None:
        kind = "grouping"
        raise UnknownNameError(kind, name, DIMENSIONS)
    return found


def dimensions(names: Iterable[str]) -> tuple[Dimension, ...]:
    """The dimensions called ``names``, in order; LeakbackError where one is named twice."""
    found = tuple(dimension(name) for name in names)
    if len({each.column for each in found}) < len(found):
        raise LeakbackError(f"--by {','.join(each.name for each in found)}: name each grouping once")
    return found

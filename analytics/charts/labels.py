"""Where direct labels stand so that none covers another."""

from collections.abc import Sequence
from typing import Literal

Side = Literal["right", "left", "above", "below"]
SIDES: tuple[Side, ...] = ("right", "left", "above", "below")
LETTER_PX = 7.0
LABEL_PX = 14.0
"""Height that a label takes up among others, a little under that of a line."""
AWAY_PX = 8.0
Box = tuple[float, float, float, float]


def spread(places: Sequence[float], gap: float) -> list[float]:
    """Places moved as little as possible (least squares, order kept) so that neighbours stand ``gap`` apart.

    Pool adjacent violators: neighbours too close share one move.
    """
    order = sorted(range(len(places)), key=lambda index: places[index])
    pools: list[tuple[float, int]] = []
    for rank, index in enumerate(order):
        total, size = places[index] - rank * gap, 1
        while pools and pools[-1][0] / pools[-1][1] > total / size:
            before, count = pools.pop()
            total, size = total + before, size + count
        pools.append((total, size))
    settled = (total / size for total, size in pools for _ in range(size))
    moved = {index: place + rank * gap for rank, (index, place) in enumerate(zip(order, settled, strict=True))}
    return [moved[index] for index in range(len(places))]


def sides(points: Sequence[tuple[float, float]], names: Sequence[str], width_px: float) -> list[Side]:
    """The side of each point (px) on which its name covers no point or name and stays within ``width_px``.

    Longest names first, as they are the hardest to place; right where no side is free.
    """
    taken = [(x - 4, y - 4, x + 4, y + 4) for x, y in points]
    chosen: dict[int, Side] = {}
    for index in sorted(range(len(names)), key=lambda index: -len(names[index])):
        boxes = {side: _box(*points[index], names[index], side) for side in SIDES}
        free = (side for side, box in boxes.items() if _free(box, taken, width_px))
        chosen[index] = next(free, "right")
        taken.append(boxes[chosen[index]])
    return [chosen[index] for index in range(len(names))]


def _free(box: Box, taken: Sequence[Box], width_px: float) -> bool:
    return box[0] >= 0 and box[2] <= width_px and not any(_overlap(box, other) for other in taken)


def _box(x: float, y: float, name: str, side: Side) -> Box:
    width = len(name) * LETTER_PX
    left = {"right": x + AWAY_PX, "left": x - AWAY_PX - width}.get(side, x - width / 2)
    middle = {"above": y - AWAY_PX - LABEL_PX / 2, "below": y + AWAY_PX + LABEL_PX / 2}.get(side, y)
    return left, middle - LABEL_PX / 2, left + width, middle + LABEL_PX / 2


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]

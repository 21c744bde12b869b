"""The wall cut across the crack: its thickness, the void through it, and the port and seal on the face worked from."""

from analytics.charts import svg
from analytics.charts.svg import Point

THICK_PX = 48
_SEAL_PX = (4, 26)
_PORT_PX = 4.2


def wall_section(corner: Point, height_px: float, thickness: str) -> list[str]:
    """The section from its upper left ``corner``, thickness labelled beneath; the void is drawn wider than it is."""
    left, top = corner
    right, bottom, middle = left + THICK_PX, top + height_px, top + height_px / 2
    under = bottom + 11
    return [
        svg.rectangle(corner, THICK_PX, height_px, "wall"),
        svg.polyline([(left, top), (left, bottom)], "face"),
        svg.polyline([(right, top), (right, bottom)], "face"),
        svg.polyline([(left, middle), (left + 15, middle - 3), (left + 31, middle + 3), (right, middle)], "void"),
        svg.polyline([(left - 2, middle - _SEAL_PX[1] / 2), (left - 2, middle + _SEAL_PX[1] / 2)], "seal", _SEAL_PX[0]),
        svg.circle((left - 4, middle), _PORT_PX, "port"),
        svg.dimension((left, under), (right, under), (0.0, 1.0)),
        svg.text(((left + right) / 2, under + svg.LINE_PX), thickness, "middle"),
    ]

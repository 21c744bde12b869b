"""SVG pieces of the drawings: text, paths and the style they share, every value escaped."""

from collections.abc import Iterable
from html import escape
from typing import Literal

from analytics.charts import palette

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

TEXT_PX = 13
LINE_PX = 17
"""Height of one line of text."""
TICK_PX = 4.0
_RULES = {
    "": f"font:{TEXT_PX}px 'Source Sans 3','Source Sans Pro',system-ui,sans-serif;font-variant-numeric:tabular-nums",
    "path": "fill:none;stroke-linejoin:round;stroke-linecap:round",
    "text": "fill:var(--muted)",
    ".number": "fill:var(--accent);font-weight:600",
    ".wall": "fill:var(--wall)",
    ".face,.dimension": "stroke:var(--muted);stroke-width:1",
    ".floor": "stroke:var(--ink);stroke-width:2.5",
    ".seal": "stroke:var(--muted);stroke-opacity:.26;stroke-linecap:butt",
    ".crack": "stroke:var(--ink);stroke-width:1.6",
    ".void": "stroke:var(--ink);stroke-width:3",
    ".port": "fill:var(--panel);stroke:var(--accent);stroke-width:1.8",
}


def drawing(parts: Iterable[str], *, width: float, height: float, alt: str) -> str:
    """One SVG element of ``parts``; its colours follow the colour scheme of where it stands, inline or as an image."""
    own = f"max-width:{width:g}px;width:100%;height:auto;{palette.css_variables()}"
    rules = "".join(
        "".join(f"{_scoped(selector)}{{{rule}}}" for selector in selectors.split(","))
        for selectors, rule in {**_RULES, "": own + _RULES[""]}.items()
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 {width:g} {height:g}" role="img" '
        f'aria-label="{escape(alt)}"><style>svg:root{{color-scheme:light dark}}{rules}</style>{"".join(parts)}</svg>'
    )


def text(place: Point, words: str, anchor: Anchor = "start", role: str = "label") -> str:
    """Words whose baseline starts, centres or ends at ``place``."""
    return f'<text class="{role}" x="{place[0]:.1f}" y="{place[1]:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def polyline(points: Iterable[Point], role: str, width: float | None = None) -> str:
    """A line through ``points``."""
    path = "L".join(f"{x:.1f},{y:.1f}" for x, y in points)
    wide = "" if width is None else f' stroke-width="{width:.1f}"'
    return f'<path class="{role}" d="M{path}"{wide}/>'


def rectangle(place: Point, width: float, height: float, role: str) -> str:
    """A filled rectangle from its upper left corner."""
    return f'<rect class="{role}" x="{place[0]:g}" y="{place[1]:g}" width="{width:g}" height="{height:g}"/>'


def circle(centre: Point, radius: float, role: str) -> str:
    """A filled circle."""
    return f'<circle class="{role}" cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{radius:.1f}"/>'


def dimension(start: Point, end: Point, normal: Point) -> str:
    """A dimension line with a tick, along ``normal`` (a unit vector), at each end."""
    across, down = TICK_PX * normal[0], TICK_PX * normal[1]
    ticks = [polyline([(x - across, y - down), (x + across, y + down)], "dimension") for x, y in (start, end)]
    return polyline([start, end], "dimension") + "".join(ticks)


def _scoped(selector: str) -> str:
    return f".drawing {selector}".strip() if selector else ".drawing"

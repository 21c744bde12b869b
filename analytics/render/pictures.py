"""Charts and drawings as files of their own: SVG and PNG, painted in the palette's own colours, nothing fetched."""

import re
from functools import cache
from importlib.resources import files
from pathlib import Path
from zlib import crc32

import vl_convert

from analytics.charts.palette import COLOURS, Mode
from analytics.charts.plot import Plot, painted
from analytics.pages.page import Chart

FONT = "Source Sans Pro"
"""The family of paper, shipped by a package of its own under the SIL Open Font License."""
CHART_PX = 620
HALF_PX = 420
GAP_PX = 24
SIDE_BY_SIDE = 2
PNG_SCALE = 2.0
_SIZE = re.compile(r'<svg[^>]*? width="([\d.]+)" height="([\d.]+)"')
_CLIP = re.compile(r'(?:(?<=id=")|(?<=url\(#))clip\d+')
_ROLE = re.compile(r"var\(--(\w+)\)")
_ROLES_DECLARED = re.compile(r"--\w+:light-dark\([^)]*\);|svg:root\{[^}]*\}")


@cache
def font_folder() -> Path:
    """Where the font's files lie."""
    return Path(str(files("font_source_sans_pro"))) / "files"


def chart_svg(chart: Chart, mode: Mode = "light", *, ground: bool = False) -> str:
    """The chart's plots as one SVG, two in a row; ``ground`` paints the page's colour behind them."""
    placed, width, height = _placed(chart_pictures(chart, mode))
    behind = f'<rect width="100%" height="100%" fill="{COLOURS["panel"].on(mode)}"/>' if ground else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="{width:g}" '
        f'height="{height:g}" viewBox="0 0 {width:g} {height:g}">{behind}{"".join(placed)}</svg>'
    )


def chart_png(chart: Chart, mode: Mode = "light") -> bytes:
    """The chart as a PNG on the page's ground, twice as fine as a plain screen."""
    _ready()
    return vl_convert.svg_to_png(chart_svg(chart, mode, ground=True), scale=PNG_SCALE)


def chart_pictures(chart: Chart, mode: Mode = "light") -> list[str]:
    """The chart's plots, an SVG each, as wide as they stand on paper."""
    width_px = CHART_PX if len(chart.plots) == 1 else HALF_PX
    return [plot_svg(plot, mode, width_px) for plot in chart.plots]


def plot_svg(plot: Plot, mode: Mode, width_px: int) -> str:
    """One plot as SVG, its ids its own, so that several can stand in one file."""
    _ready()
    spec = painted(plot, mode, width_px=width_px).to_dict()
    spec["config"]["font"] = f"{FONT}, sans-serif"
    return _own_ids(vl_convert.vegalite_to_svg(spec, allowed_base_urls=[]))


def drawing_svg(svg: str, mode: Mode = "light") -> str:
    """A drawing with its colours written out, for where no style sheet resolves them."""
    plain = _ROLES_DECLARED.sub("", svg).replace("'Source Sans 3','Source Sans Pro'", f"'{FONT}'")
    return _ROLE.sub(lambda found: COLOURS[found[1]].on(mode), plain)


@cache
def _ready() -> None:
    vl_convert.register_font_directory(str(font_folder()))


def _own_ids(svg: str) -> str:
    """The picture with ids of its own: the engine numbers them on from one picture to the next."""
    order = {name: place for place, name in enumerate(dict.fromkeys(_CLIP.findall(svg)))}
    plain = _CLIP.sub(lambda found: f"clip{order[found[0]]}", svg)
    own = f"{crc32(plain.encode()):x}"
    return _CLIP.sub(lambda found: f"{found[0]}-{own}", plain)


def _placed(pictures: list[str]) -> tuple[list[str], float, float]:
    """Pictures two in a row, each row as high as its highest; the width and height they take together, px."""
    placed, top, right = [], 0.0, 0.0
    for first in range(0, len(pictures), SIDE_BY_SIDE):
        row = pictures[first : first + SIDE_BY_SIDE]
        left, highest = 0.0, 0.0
        for picture in row:
            width, height = _size(picture)
            placed.append(picture.replace("<svg ", f'<svg x="{left:g}" y="{top:g}" ', 1))
            left, highest = left + width + GAP_PX, max(highest, height)
        top, right = top + highest + GAP_PX, max(right, left - GAP_PX)
    return placed, right, max(0.0, top - GAP_PX)


def _size(svg: str) -> tuple[float, float]:
    found = _SIZE.match(svg)
    if found is None:
        raise ValueError("a picture without a size")
    return float(found[1]), float(found[2])

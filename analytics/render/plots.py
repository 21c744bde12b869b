"""Charts in the browser: put into its words once, and a click on a dot narrowing the page."""

from functools import partial
from threading import Lock
from typing import Any
from zlib import crc32

import streamlit as st
from cachetools import LRUCache, cached
from streamlit.delta_generator import DeltaGenerator

from analytics.charts.plot import PICK, Plot, as_spec, dots, picking
from analytics.pages.page import Chart, Page
from analytics.pages.within import every_part

KEPT_PLOTS = 512


def draw(place: DeltaGenerator, plot: Plot, picks: tuple[str, ...], alt: str) -> None:
    """Draw a plot; with ``picks``, a dot that is clicked puts its values of these columns in the address."""
    _, spec = _in_words(plot, picks)
    if not picks or not dots(plot):
        place.vega_lite_chart(spec=spec, width="stretch", alt=alt)
        return
    key = f"{PICK}-{'-'.join(picks)}-{crc32(alt.encode()):08x}"
    place.vega_lite_chart(
        spec=spec,
        width="stretch",
        alt=alt,
        key=key,
        on_select=partial(_picked, key, picks),
        selection_mode=PICK,
    )


def make_ready(page: Page) -> None:
    """Put the charts of a page into words, so that they are drawn at once when it is shown."""
    for part in every_part(page.parts):
        if isinstance(part, Chart):
            for plot in part.plots:
                _in_words(plot, part.picks)


@cached(LRUCache(KEPT_PLOTS), key=lambda plot, picks: (id(plot), picks), lock=Lock())
def _in_words(plot: Plot, picks: tuple[str, ...]) -> tuple[Plot, dict[str, Any]]:
    """What the browser draws, in memory while a kept page shows it; with the plot, so that its id stays its own."""
    return plot, as_spec(picking(plot, picks) if picks else plot)


def _picked(key: str, picks: tuple[str, ...]) -> None:
    """Put what was clicked in the address, from which the page is then built anew."""
    clicked = [point for point in st.session_state[key]["selection"].get(PICK, []) if all(map(point.get, picks))]
    if clicked:
        st.query_params.update({column: str(clicked[-1][column]) for column in picks})

import tomllib
from itertools import product
from typing import get_args

import pytest

from analytics.charts.palette import ACTION_MARKS, COLOURS, SERIES, Mode, css_variables, light_on_paper, series_colours
from analytics.contract.places import shipped
from analytics.contract.rules import ACTIONS, DO_NOT_INJECT

TEXT_ROLES = sorted(set(COLOURS) - {"page", "panel", "line", "wall"})
LEAST_CONTRAST = 5.0
MODES: tuple[Mode, ...] = get_args(Mode)
THEME_ROLES = {
    "primaryColor": "accent",
    "backgroundColor": "page",
    "secondaryBackgroundColor": "panel",
    "textColor": "ink",
    "linkColor": "accent",
    "borderColor": "line",
}
"""The role of each colour of the screen's theme, by the theme's own key."""


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2, definition "relative luminance" (from memory)."""
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)


@pytest.mark.parametrize(("role", "ground", "mode"), list(product(TEXT_ROLES, ("page", "panel"), MODES)))
def test_text_stands_out_from_its_ground(role: str, ground: str, mode: Mode) -> None:
    assert contrast(COLOURS[role].on(mode), COLOURS[ground].on(mode)) >= LEAST_CONTRAST


@pytest.mark.parametrize("mode", MODES)
def test_drawing_text_stands_out_from_the_wall(mode: Mode) -> None:
    assert min(contrast(COLOURS[role].on(mode), COLOURS["wall"].on(mode)) for role in ("muted", "accent", "ink")) >= 4.5


@pytest.mark.parametrize("mode", MODES)
def test_the_screens_theme_is_the_palette(mode: Mode) -> None:
    config = tomllib.loads(shipped(".streamlit/config.toml").read_text(encoding="utf-8"))
    colours = {key: COLOURS[role].on(mode) for key, role in THEME_ROLES.items()}
    assert config["theme"][mode] == {**colours, "chartCategoricalColors": series_colours(mode)}


def test_the_screen_stays_on_this_computer_and_sends_nothing() -> None:
    config = tomllib.loads(shipped(".streamlit/config.toml").read_text(encoding="utf-8"))
    assert config["server"]["address"] == "127.0.0.1"
    assert config["browser"]["gatherUsageStats"] is False


def test_every_action_has_its_own_word_and_mark() -> None:
    assert set(ACTION_MARKS) == set(ACTIONS) - {"note"} | {DO_NOT_INJECT}
    assert len({action.word for action in ACTION_MARKS.values()}) == len(ACTION_MARKS)
    assert len({action.mark for action in ACTION_MARKS.values()}) == len(ACTION_MARKS)


def test_charts_use_only_declared_roles() -> None:
    assert set(SERIES) <= set(COLOURS)


def test_css_has_both_modes_of_every_role() -> None:
    css = css_variables()
    assert all(f"--{role}:light-dark({colour.light},{colour.dark});" in css for role, colour in COLOURS.items())


def test_what_is_painted_for_dark_ground_is_light_on_paper() -> None:
    css = light_on_paper()
    assert css.startswith("@media print{")
    assert all(f'svg [fill="{colour.dark}" i]{{fill:var(--{role})}}' in css for role, colour in COLOURS.items())
    assert len({colour.dark for colour in COLOURS.values()}) == len(COLOURS), "a dark colour tells its role"

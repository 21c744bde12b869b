"""The colours, each declared once, for light and dark; the screen, the charts, the drawing and the theme read them.

Text colours stand at 5:1 or better against page and panel. Colour never speaks alone: an action has its word and
its own mark, a series its name beside it.
"""

from dataclasses import dataclass
from typing import Literal

from analytics.contract.rules import DO_NOT_INJECT

Mode = Literal["light", "dark"]


@dataclass(frozen=True, slots=True)
class Colour:
    """One role's colour on light and on dark ground, ``#RRGGBB``."""

    light: str
    dark: str

    def on(self, mode: Mode) -> str:
        """The colour for ``mode``."""
        return self.light if mode == "light" else self.dark


COLOURS: dict[str, Colour] = {
    "ink": Colour("#1E2A32", "#ECE9E2"),
    "muted": Colour("#55636D", "#A9B4BB"),
    "page": Colour("#FAF8F4", "#14191D"),
    "panel": Colour("#FFFFFF", "#1C2328"),
    "line": Colour("#DAD5CB", "#36424A"),
    "wall": Colour("#EFECE5", "#28323A"),
    "accent": Colour("#0E5A6B", "#6CC3D4"),
    "epoxy": Colour("#A8480F", "#F2A06B"),
    "urethane_foam": Colour("#1D6CAE", "#7DBBEE"),
    "engineer_review": Colour("#8E1656", "#F08BC0"),
    "extra_prep": Colour("#9A5B00", "#F0B860"),
    "measure_first": Colour("#3F53A0", "#A5B4F5"),
}

SERIES = (
    "accent",
    "epoxy",
    "urethane_foam",
    "engineer_review",
    "extra_prep",
    "measure_first",
    "ink",
    "muted",
    "line",
    "page",
)
"""The roles a chart may use, in the order of the theme's categorical colours: a chart names roles, the theme paints."""


@dataclass(frozen=True, slots=True)
class ActionMark:
    """How what a crack needs is shown: its word, its own mark, its colour's role, and a style for the terminal."""

    word: str
    mark: str
    role: str
    terminal: str


ENGINEER = "engineer_review"
"""The role of what an engineer looks at or has decided."""
ACTION_MARKS: dict[str, ActionMark] = {
    "engineer_review": ActionMark("engineer first", "◆", ENGINEER, "bold magenta"),
    DO_NOT_INJECT: ActionMark("do not inject", "×", ENGINEER, "bold magenta"),
    "measure_first": ActionMark("measure first", "○", "measure_first", "bold blue"),
    "extra_prep": ActionMark("extra prep", "▲", "extra_prep", "bold yellow"),
    "standard": ActionMark("standard", "", "muted", "dim"),
}


def css_variables() -> str:
    """Every role as a CSS custom property that follows the page's colour scheme: ``--ink:light-dark(…, …);``."""
    return "".join(f"--{role}:light-dark({colour.light},{colour.dark});" for role, colour in COLOURS.items())


def light_on_paper() -> str:
    """A style for the browser's print: what a chart was painted with for dark ground, by role, which is light there."""
    roles = ((role, colour.dark, paint) for role, colour in COLOURS.items() for paint in ("fill", "stroke"))
    rules = "".join(f'svg [{paint}="{dark}" i]{{{paint}:var(--{role})}}' for role, dark, paint in roles)
    return f"@media print{{{rules}}}"


def series_colours(mode: Mode) -> list[str]:
    """The charts' categorical colours in the order of SERIES."""
    return [COLOURS[role].on(mode) for role in SERIES]

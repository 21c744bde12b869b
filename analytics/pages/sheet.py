"""What a sheet carried to the work holds beside a page's other parts: steps to follow, and boxes filled in by hand."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work, and who says so."""

    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """Steps under a heading, numbered in the order they are done; ``note`` is a quiet line beneath."""

    title: str
    rows: tuple[Step, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Blank:
    """Something written in by hand, in ``unit``; a box to tick where ``tick``; ``wide`` where it needs much room."""

    label: str
    unit: str = ""
    tick: bool = False
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Blanks:
    """Boxes filled in by hand: ``fields`` across, a line for each name in ``rows``, one line where there is none."""

    title: str
    fields: tuple[Blank, ...]
    rows: tuple[str, ...] = ()

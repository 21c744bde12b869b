"""Options that several commands share, declared once."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import click

DEFAULT_STORE = "leakback.duckdb"
Command = Callable[..., Any]


def store_option(command: Command) -> Command:
    """The store every command works on."""
    return click.option(
        "--store",
        type=click.Path(path_type=Path, dir_okay=False),
        default=DEFAULT_STORE,
        envvar="LEAKBACK_STORE",
        show_default=True,
        help="The store's file.",
    )(command)


def format_option(command: Command) -> Command:
    """Text for people, JSON and CSV for programs."""
    return click.option(
        "--format", "form", type=click.Choice(["text", "json", "csv"]), default="text", show_default=True
    )(command)


def level_option(default: float) -> Callable[[Command], Command]:
    """The level of the intervals."""
    return click.option("--level", type=float, default=default, show_default=True, help="Level of the intervals.")


def months_option(command: Command) -> Command:
    """The age at which leak-backs are read."""
    return click.option("--months", type=int, default=24, show_default=True, help="Months after the repair.")(command)


def as_of_option(command: Command) -> Command:
    """The day the records are read as of."""
    return click.option(
        "--as-of",
        type=click.DateTime(["%Y-%m-%d"]),
        callback=lambda _context, _option, value: value.date() if isinstance(value, datetime) else None,
        help="Read the records as they stood on this day (year-month-day).",
    )(command)

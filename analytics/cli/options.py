"""Options that several commands share, declared once."""

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from analytics.contract.places import DEFAULT_STORE, STORE_VARIABLE

Command = Callable[..., Any]
MOST_SAID = 120


class FileOrFolder(click.Path):
    """Where a file or a folder is; a blank text is no place."""

    def __init__(self, *, file_okay: bool = True, dir_okay: bool = True) -> None:
        super().__init__(path_type=Path, file_okay=file_okay, dir_okay=dir_okay)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401
        """The path that was named."""
        if not str(value).strip():
            self.fail("a blank is no file or folder: give its name", param, ctx)
        try:
            Path(value).exists()
        except (OSError, ValueError) as error:  # too long a name, a null in it
            self.fail(f"no name for a file or folder ({error})"[:MOST_SAID], param, ctx)
        return super().convert(value, param, ctx)


FILE, FOLDER, EITHER = FileOrFolder(dir_okay=False), FileOrFolder(file_okay=False), FileOrFolder()


class Day(click.ParamType[date]):
    """A day written year-month-day."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:  # noqa: ANN401
        """The day that was written."""
        try:
            return datetime.strptime(str(value).strip(), "%Y-%m-%d").date()  # noqa: DTZ007 - a day has no zone
        except ValueError:
            self.fail(f"“{str(value)[:MOST_SAID]}” is not a day written YYYY-MM-DD, as 2026-03-17", param, ctx)

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        """How it is written, for the help."""
        del param, ctx
        return "YYYY-MM-DD"


DAY = Day()


class Number(click.ParamType[float]):
    """A number, written with a decimal point."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        """The number that was written."""
        try:
            return float(value)
        except ValueError:
            self.fail(f"“{str(value)[:MOST_SAID]}” is not a number with a decimal point, such as 2.4", param, ctx)


NUMBER = Number()


def store_option(command: Command) -> Command:
    """The store every command works on."""
    return click.option(
        "--store",
        type=FILE,
        default=DEFAULT_STORE,
        envvar=STORE_VARIABLE,
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
    return click.option("--level", type=NUMBER, default=default, show_default=True, help="Level of the intervals.")


def months_option(command: Command) -> Command:
    """The age at which leak-backs are read."""
    return click.option("--months", type=int, default=24, show_default=True, help="Months after the repair.")(command)


def named(by: str) -> list[str]:
    """The groupings named in a text, split by commas."""
    return [name.strip() for name in by.split(",") if name.strip()]


def as_of_option(command: Command) -> Command:
    """The day the records are read as of."""
    return click.option(
        "--as-of",
        type=DAY,
        help="Read the records as they stood on this day (year-month-day).",
    )(command)

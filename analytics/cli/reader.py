"""What a person reads, and every paper, is in the business's units; JSON and CSV stay SI."""

from collections.abc import Callable
from functools import wraps
from typing import Any

import click


def for_people(command: click.Command) -> click.Command:
    """The command (and those under it) with its text and papers in the units of its store's policy."""
    if isinstance(command, click.Group):
        for inner in command.commands.values():
            for_people(inner)
    elif command.callback is not None and any(option.name == "store" for option in command.params):
        command.callback = _shown(command.callback)
    return command


def _shown(callback: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(callback)
    def shown(*args: Any, **said: Any) -> Any:  # noqa: ANN401 - whatever the command takes and gives
        from analytics.answers.records import display_of
        from analytics.contract.units import displayed

        is_read = "paper" in said or said.get("form", "text") == "text"  # a paper is, whoever is told where it lies
        if not is_read or said["store"] is None:
            return callback(*args, **said)
        with displayed(display_of(said["store"])):
            return callback(*args, **said)

    return shown

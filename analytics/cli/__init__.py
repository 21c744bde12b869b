"""The command line: a thin door to the answers."""

import gc
import os
import sys
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click

from analytics.cli.noticing import saying_notices
from analytics.errors import LeakbackError, RecordsMovedError

DONE, FAILED, WRONG_CALL = 0, 1, 2
OBJECTS_BETWEEN_SWEEPS = 1_000_000
"""A command's many quotes live until it ends: looking through them for garbage over and over took a sixth of it."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and exit: 0 done, 2 the call or its input was wrong, 1 anything else."""
    gc.set_threshold(OBJECTS_BETWEEN_SWEEPS)
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; the exit code."""
    from analytics.cli.commands import leakback

    try:
        with saying_notices():
            code = _ask(leakback, list(arguments) if arguments is not None else None)
    except click.ClickException as error:
        return _say(error.format_message(), WRONG_CALL)
    except LeakbackError as error:
        return _say(str(error), WRONG_CALL)
    except (click.Abort, KeyboardInterrupt):
        return _say("stopped; see what was done with: leakback history", FAILED)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except SystemExit:
        raise
    except BaseException as error:  # noqa: BLE001 - the last line of defence, a library's panic among it: no traceback
        return _say(f"something went wrong ({type(error).__name__}); {_log(error)}", FAILED)
    return code if isinstance(code, int) else DONE


def _ask(command: click.Command, arguments: list[str] | None) -> object:
    """Run a command; once more, with writers kept waiting, where the records changed between two of its questions."""
    try:
        return command.main(args=arguments, standalone_mode=False)
    except RecordsMovedError as moved:
        from analytics.store import Store

        with Store(moved.store).turns.reading():
            return command.main(args=arguments, standalone_mode=False)


def _say(sentence: str, code: int) -> int:
    click.echo(f"leakback: {' '.join(sentence.split())}", err=True)
    return code


def _log(error: BaseException) -> str:
    """Keep the traceback where a maintainer finds it; in words, where that is, or why it is nowhere."""
    try:
        folder = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state") / "leakback"
        folder.mkdir(parents=True, exist_ok=True)
        with (folder / "leakback.log").open("a", encoding="utf-8", errors="backslashreplace") as log:
            log.write(f"{datetime.now().astimezone()} unexpected\n")
            log.writelines(traceback.format_exception(error))
    except (OSError, RuntimeError) as refused:  # RuntimeError: an account without a home
        return f"the details could not be kept ({refused})"
    return f"the details are kept in {folder / 'leakback.log'}"

"""The command line: a thin door to the answers."""

import gc
import logging
import os
import sys
from collections.abc import Sequence
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
        return _say(f"something went wrong ({type(error).__name__}); the details are kept in {_log(error)}", FAILED)
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


def _log(error: BaseException) -> Path:
    """Keep the traceback where a maintainer finds it."""
    folder = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state") / "leakback"
    folder.mkdir(parents=True, exist_ok=True)
    handler = logging.FileHandler(folder / "leakback.log", encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    log = logging.getLogger("leakback")
    log.addHandler(handler)
    log.error("unexpected", exc_info=error)
    log.removeHandler(handler)
    handler.close()
    return folder / "leakback.log"

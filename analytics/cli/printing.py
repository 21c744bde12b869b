"""The three forms of an answer, and a sign of life on anything over a second."""

import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import orjson

from analytics.cli.noticing import saying_steps
from analytics.contract.formulas import neutral
from analytics.contract.rows import Rows

if TYPE_CHECKING:
    from analytics.pages.page import Page

SIGN_OF_LIFE_AFTER_SECONDS = 1.0
MOST_INDENTED = 1000
_NESTED = (list, dict)


def emit(form: str, answer: Callable[[], Mapping[str, Any]], rows_key: str, page: Callable[[], "Page"]) -> None:
    """Print an answer.

    Args:
        form: text, json or csv.
        answer: gives the contract's answer, for JSON; its part under ``rows_key`` makes the CSV's rows;
            as ``Rows`` they have their header even where there is none of them.
        rows_key: a list of rows, or a mapping whose items become rows.
        page: makes the page a person reads.
    """
    if form != "text":
        _for_programs(form, answer(), rows_key)
        return
    from analytics.render.terminal import show

    show(page())


def emit_said(form: str, answer: Callable[[], Mapping[str, Any]], rows_key: str, *sentences: str) -> None:
    """Print an answer that a person is told in sentences, a line each; else as ``emit`` does."""
    if form != "text":
        _for_programs(form, answer(), rows_key)
        return
    for sentence in sentences:
        click.echo(sentence)


def emit_written(form: str, files: Iterable[Path], *sentences: str) -> None:
    """Print which files were written, a row each for programs."""
    emit_said(form, lambda: {"rows": Rows(({"file": str(file)} for file in files), ("file",))}, "rows", *sentences)


def _for_programs(form: str, answer: Mapping[str, Any], rows_key: str) -> None:
    if form == "json":
        click.echo(_as_json(answer, indented=len(answer[rows_key]) <= MOST_INDENTED))  # half as long without
    else:
        _write_csv(answer[rows_key])


def _as_json(value: object, *, indented: bool = False) -> bytes:
    """JSON with days in ISO 8601, money as an exact decimal text, and null for a number that is none."""
    return orjson.dumps(value, _exact, orjson.OPT_NON_STR_KEYS | (orjson.OPT_INDENT_2 if indented else 0))


def _exact(value: object) -> str:
    """What money is written as."""
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no JSON form")


def _write_csv(rows: Any) -> None:  # noqa: ANN401 - a list of rows or a mapping of them
    import polars as pl  # here, for --help not to wait for it

    if isinstance(rows, Mapping):
        rows = [{"name": k, **(v if isinstance(v, Mapping) else {"value": v})} for k, v in rows.items()]
    declared = rows.columns if isinstance(rows, Rows) else ()
    columns = list(dict.fromkeys([*declared, *(column for row in rows for column in row)]))
    cells = {name: pl.Series([_cell(row.get(name)) for row in rows], dtype=pl.String) for name in columns}
    click.echo(pl.DataFrame(cells).write_csv().encode(), nl=False)


def _cell(value: object) -> str | None:
    """A cell's text, None where it is empty."""
    if value is None or value == "":
        return None
    if isinstance(value, _NESTED):
        return _as_json(value).decode()
    return neutral(value) if isinstance(value, str) else str(value)


def into(folder: Path) -> str:
    """Where files were written, as the end of a sentence: the folder by its name, never by a dot."""
    if folder.resolve() == Path.cwd():
        return "into this folder"
    return f"into {folder.resolve() if folder.name in {'', '..'} else folder}"


@contextmanager
def working(words: str) -> Iterator[None]:
    """Say on standard error what takes more than a second and at which step it is, where a person is watching."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    status = Console(stderr=True).status(f"{words} …")
    timer = threading.Timer(SIGN_OF_LIFE_AFTER_SECONDS, status.start)
    timer.start()
    try:
        with saying_steps(lambda step: status.update(f"{step} …")):
            yield
    finally:
        timer.cancel()
        status.stop()

"""Whatever goes wrong, a reader sees one sentence and where the details are kept."""

from collections.abc import Callable
from pathlib import Path

import pytest
from polars.exceptions import PanicException

from analytics import cli


def failing(*_: object) -> object:
    raise ZeroDivisionError


@pytest.mark.parametrize("fault", [ZeroDivisionError("no"), PanicException("index out of bounds")])
def test_no_fault_reaches_a_reader_as_a_traceback(
    fault: BaseException, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A panic of a library in Rust is no Exception."""

    def ask(*_: object) -> object:
        raise fault

    monkeypatch.setattr(cli, "_ask", ask)
    assert cli.run(["loads"]) == cli.FAILED
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"leakback: something went wrong ({type(fault).__name__}); the details are kept in ")
    assert err.count("\n") == 1


def no_folder(state: Path) -> None:
    state.write_text("a file")


def no_room(state: Path) -> None:
    (state / "leakback").mkdir(parents=True)
    (state / "leakback" / "leakback.log").symlink_to("/dev/full")


@pytest.mark.parametrize("spoil", [no_folder, no_room])
def test_details_that_cannot_be_kept_are_no_second_fault(
    spoil: Callable[[Path], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(tmp_path / "state")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr(cli, "_ask", failing)
    assert cli.run(["loads"]) == cli.FAILED
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("leakback: something went wrong (ZeroDivisionError); the details could not be kept (")
    assert err.count("\n") == 1

"""Whatever goes wrong, a reader sees one sentence and where the details are kept."""

import pytest
from polars.exceptions import PanicException

from analytics import cli


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

"""How the command line is called: on the demo's store, or on one of the test file's own."""

from pathlib import Path

import pytest

from analytics.cli import run
from tests.cli.calling import Call


@pytest.fixture
def store(demo_store: Path) -> Path:
    """The store that is asked; a test file may have its own."""
    return demo_store


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], store: Path) -> Call:
    """Runs a command, on ``store`` or another, or on none: exit code, standard output, standard error."""
    asked = store

    def caller(*words: str, store: Path | None = asked) -> tuple[int, str, str]:
        code = run([*words, *(["--store", str(store)] if store else [])])
        said = capsys.readouterr()
        return code, said.out, said.err

    return caller

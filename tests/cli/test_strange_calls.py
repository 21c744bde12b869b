"""Commands called with anything at all: done, or one sentence; never a traceback.

``LEAKBACK_STRANGE`` sets how many calls; few by default, so that the suite stays quick.
"""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.cli import run
from analytics.cli.commands import leakback
from analytics.demo import TRUTH, world
from tests.strange import words
from tests.truth.stores import records_of

CALLS = int(os.environ.get("LEAKBACK_STRANGE", "100"))
SERVING = {"dashboard", "demo"}
LONGEST_SENTENCE = 12_000


def commands(group: click.Group = leakback, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command with its words, but for those that serve until they are stopped."""
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, (*path, name))
        elif name not in SERVING:
            yield (*path, name), command


@st.composite
def calls(draw: st.DrawFn) -> list[str]:
    """A command with some of its options, and values that may be anything."""
    path, command = draw(st.sampled_from(list(commands())))
    said = list(path)
    for parameter in command.params:
        if parameter.name == "store" or not draw(st.booleans()):
            continue
        choices = getattr(parameter.type, "choices", ())
        value = draw(st.one_of(words, st.sampled_from(choices)) if choices else words)
        if isinstance(parameter, click.Option):
            said += [parameter.opts[0]] if parameter.is_flag else [parameter.opts[0], value]
        else:
            said += [value]
    return said


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small invented business."""
    tables = world(TRUTH, seed=7, n_jobs=60).tables
    return records_of(tables, tmp_path_factory.mktemp("strange"), tables).store.path


@settings(max_examples=CALLS, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(call=calls())
def test_any_call_is_done_or_answered_in_a_sentence(
    call: list[str], store: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(store.parent)
    code = run([*call, "--store", str(store)] if call[0] not in {"template", "map"} else call)
    out, err = capsys.readouterr()
    assert code in {0, 1, 2}
    assert "Traceback" not in out + err
    assert "something went wrong" not in err, err
    if code == 2:
        assert err.startswith("leakback: ")
        assert len(err) < LONGEST_SENTENCE

"""A command as a person or a program calls it."""

import json
from collections.abc import Callable
from typing import Any

Call = Callable[..., tuple[int, str, str]]


def answer(call: Call, *words: str) -> dict[str, Any]:
    """The JSON of a command that is done without a word on standard error."""
    code, out, err = call(*words, "--format", "json")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found

"""The look-up of known vulnerabilities in CI: one that is found fails, data that cannot be reached does not."""

from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

AUDIT = Path(__file__).resolve().parents[2] / ".ci" / "audit"
SOUND = {"name": "streamlit", "version": "1", "vulns": []}
FAULTY = {"name": "other", "version": "2", "vulns": [{"id": "PYSEC-1"}]}
UNKNOWN = {"name": "own", "skip_reason": "not found"}


@pytest.fixture
def audit() -> ModuleType:
    module = ModuleType("audit")
    module.__file__ = str(AUDIT)
    exec(SourceFileLoader("audit", str(AUDIT)).get_code("audit") or "", module.__dict__)  # noqa: S102 - our own script
    return module


@pytest.mark.parametrize(
    ("first", "every", "code", "said"),
    [
        ([], [], 0, "cannot be reached"),
        ([UNKNOWN], [], 0, "cannot be reached"),
        ([SOUND], [SOUND, UNKNOWN], 0, "1 packages looked up, 1 not known, 0 faults"),
        ([SOUND], [SOUND, FAULTY], 1, "other 2: PYSEC-1"),
    ],
)
def test_what_is_found(
    audit: ModuleType, capsys: pytest.CaptureFixture[str], first: Any, every: Any, code: int, said: str
) -> None:
    audit.__dict__["looked_up"] = lambda pins: first if len(pins) == 1 else every
    assert audit.main() == code
    assert said in capsys.readouterr().out

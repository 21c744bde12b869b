"""What an entry of the audit trail tells, read back as its act wrote it, or not at all."""

import json
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

Count = Annotated[int, Field(ge=0, lt=2**63)]
LoadNumber = Annotated[str, Field(pattern=r"^\d{1,9}$")]
FileOfTable = Annotated[list[str], Field(min_length=3, max_length=3)]
"""The table, the file's name and its hash."""


class _Told(BaseModel):
    """What readers of the trail rely on; an act may tell more."""

    model_config = ConfigDict(strict=True, extra="allow")


class _RowsTold(_Told):
    loaded: Count
    rejected: Count


class _LoadTold(_Told):
    tables: dict[str, _RowsTold]
    files: list[FileOfTable]


class _UndoTold(_Told):
    rows: dict[str, Count]


class _FitTold(_Told):
    model_sha256: str


class _PolicyTold(_Told):
    """``changed``: the settings by name, where they were changed here and not in the file by hand."""

    sha256: str | None
    changed: list[str] = []


class _ScenarioTold(_Told):
    name: str
    saved: str | None


class _RestoreTold(_Told):
    backup: str = Field(alias="from")


class _UpgradeTold(_Told):
    before: int = Field(alias="from")
    to: int
    loads: dict[LoadNumber, dict[str, Any]]
    models: list[str]


TOLD: Mapping[str, type[_Told]] = {
    "load": _LoadTold,
    "undo": _UndoTold,
    "fit": _FitTold,
    "policy": _PolicyTold,
    "scenario": _ScenarioTold,
    "restore": _RestoreTold,
    "upgrade": _UpgradeTold,
}
"""What each act tells."""


def told(what: str, details: str) -> dict[str, Any] | None:
    """What an entry of this act tells; None where it is not as the act writes it."""
    try:
        found = json.loads(details)
        TOLD.get(what, _Told).model_validate(found)
    except (ValueError, RecursionError, ValidationError):
        return None
    return dict(found)

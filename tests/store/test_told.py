"""An entry of the audit trail is read back as its act wrote it, or not at all."""

import json
from collections.abc import Mapping
from typing import Any

import pytest

from analytics.store.told import TOLD, told

WRITTEN: Mapping[str, dict[str, Any]] = {
    "load": {"tables": {"jobs": {"loaded": 2, "rejected": 0, "sum": "7"}}, "files": [["jobs", "jobs.csv", "ab"]]},
    "undo": {"rows": {"jobs": 2}},
    "fit": {"model_sha256": "ab", "hemisphere": "north"},
    "policy": {"sha256": None},
    "scenario": {"name": "dearer labour", "saved": None},
    "restore": {"from": "store.1.duckdb"},
    "upgrade": {"from": 1, "to": 2, "loads": {"1": {"tables": {}}}, "models": ["ab"]},
}
OTHERWISE = [
    ("load", {"tables": {"jobs": {"loaded": "2", "rejected": 0}}, "files": []}),
    ("load", {"tables": {"jobs": {"loaded": 10**400, "rejected": 0}}, "files": []}),
    ("load", {"tables": {}, "files": [["jobs", "jobs.csv"]]}),
    ("undo", {"rows": 2}),
    ("undo", {"rows": {"jobs": -1}}),
    ("fit", {"model_sha256": None}),
    ("policy", {}),
    ("policy", {"sha256": None, "changed": "margin"}),
    ("scenario", {"name": "dearer labour"}),
    ("restore", {"from": 3}),
    ("upgrade", {"from": 1, "to": 2, "loads": {"one": {}}, "models": []}),
    ("upgrade", {"from": 1, "to": 2, "loads": {}, "models": 3}),
]


def test_every_act_is_written_down_here() -> None:
    assert set(WRITTEN) == set(TOLD)


@pytest.mark.parametrize("what", WRITTEN)
def test_what_an_act_wrote_is_read_whole_and_not_without_any_part_that_is_relied_on(what: str) -> None:
    written = WRITTEN[what]
    assert told(what, json.dumps(written)) == written
    relied_on = {field.alias or name for name, field in TOLD[what].model_fields.items() if field.is_required()}
    for part in relied_on:
        assert told(what, json.dumps({name: value for name, value in written.items() if name != part})) is None, part


@pytest.mark.parametrize(("what", "details"), OTHERWISE)
def test_what_is_otherwise_is_not_read(what: str, details: dict[str, object]) -> None:
    assert told(what, json.dumps(details)) is None


@pytest.mark.parametrize("text", ["", "{", "[]", '"load"', "[" * 100_000, "9" * 5_000])
@pytest.mark.parametrize("what", ["load", "an act of a later version"])
def test_what_is_no_json_object_is_not_read(what: str, text: str) -> None:
    assert told(what, text) is None

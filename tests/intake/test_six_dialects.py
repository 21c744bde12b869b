import json
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import flagging, measuring
from analytics.answers.loading import load_sources, rejects
from analytics.answers.records import Records
from analytics.intake import Source, parse_map, private_path
from tests.histories import TODAY
from tests.intake.dialects import SIX, History, history

TABLES = {"jobs": "job_id", "cracks": "crack_id", "callbacks": "callback_id"}
KEY = json.dumps({"key": "5e" * 32, "crews": {}})
Store = tuple[dict[str, pl.DataFrame], str]


@pytest.fixture(scope="module")
def told() -> History:
    return history()


def stored(path: Path, files: dict[str, bytes], column_map: str) -> Store:
    """The rows in force and the answers, as JSON, of files loaded into a store with a key that is the same for all."""
    private_path(path).write_text(KEY, encoding="utf-8")
    sources = [Source(name, content) for name, content in files.items()]
    load_sources(path, sources, column_map=parse_map(column_map) if column_map else None, today=TODAY)
    records = Records.of(path)
    assert rejects(records).is_empty()
    frames = {name: records.store.frame(f"select * from {name} order by {key}") for name, key in TABLES.items()}
    answers = [
        measuring.answer(records, measuring.measure(records, "leak_back_rate", ["resin", "season"], months=12)),
        measuring.answer(records, measuring.measure(records, "take_ratio", ["crew"])),
        measuring.answer(records, measuring.measure(records, "labour_per_metre", ["water"])),
        flagging.flags(records).answer(everything=True),
    ]
    return frames, json.dumps(answers, default=str, sort_keys=True)


def test_six_dialects_and_unit_systems_give_one_store_and_the_same_answers(told: History, tmp_path: Path) -> None:
    stores = {write.__name__: stored(tmp_path / f"{write.__name__}.duckdb", *write(told)) for write in SIX}
    frames, answers = stores["our_own"]
    assert frames["jobs"].height == len(told["jobs"])
    assert frames["callbacks"].height == len(told["callbacks"]) > 5
    for name, (others, said) in stores.items():
        for table, frame in frames.items():
            assert others[table].equals(frame), (name, table)
        assert said.encode() == answers.encode(), name

"""A small store with a finished job and a planned one, to write in by hand."""

import shutil
from pathlib import Path

import pytest

from analytics.answers.loading import load
from analytics.intake import private_path
from tests.histories import CRACK, DONE_JOB, TODAY, Tables, write_tables

PLANNED = {"job_id": "J-2", "site_id": "S-2", "crew_id": "C01", "status": "planned", "planned_on": "2026-12-01"}
WIDE = {**CRACK, "crack_id": "J-2-1", "job_id": "J-2", "width_mm": 6, "offset_mm": 0, "direction": "vertical"}
HISTORY: Tables = {
    "jobs": [{**DONE_JOB, "warranty_months": 60}, PLANNED],
    "cracks": [CRACK, {**CRACK, "crack_id": "K-2", "water": "running"}, WIDE],
    "callbacks": [{"callback_id": "B-07", "job_id": "J-1", "reported_on": "2024-05-01", "finding": "leak_back"}],
}


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    load(folder / "store.duckdb", [write_tables(folder / "files", HISTORY)], today=TODAY)
    return folder / "store.duckdb"


@pytest.fixture
def store(loaded: Path, store_path: Path) -> Path:
    """A copy of the loaded store to write in."""
    shutil.copyfile(loaded, store_path)
    shutil.copyfile(private_path(loaded), private_path(store_path))
    return store_path

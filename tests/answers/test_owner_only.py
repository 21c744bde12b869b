"""Every file that tells something of the business can be read by its owner alone, whatever the computer's habit."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from analytics.answers import keeping
from analytics.answers.demonstrating import build_demo
from analytics.answers.inviting import invite
from analytics.answers.loading import load
from analytics.answers.templates import write_templates
from tests.histories import CRACK, DONE_JOB, TODAY, write_tables

pytestmark = pytest.mark.skipif(os.name != "posix", reason="no file modes here")


@pytest.fixture(autouse=True)
def open_to_all() -> Iterator[None]:
    before = os.umask(0)
    yield
    os.umask(before)


def others(folder: Path) -> dict[str, str]:
    """Files of a folder that others than their owner may open."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.name: oct(path.stat().st_mode) for path in files if path.stat().st_mode & 0o077}


def test_a_store_its_key_its_people_and_its_backups(tmp_path: Path, store_path: Path) -> None:
    files = write_tables(tmp_path / "files", {"jobs": [DONE_JOB], "cracks": [CRACK]})
    kept = tmp_path / "kept"
    kept.mkdir()
    store = kept / store_path.name
    load(store, [files], today=TODAY)
    invite(store, "anna@example.org", "owner")
    keeping.backup(store, kept / "copy.duckdb")
    names = {path.name for path in kept.rglob("*") if path.is_file()}
    assert {"store.duckdb", "store.private.json", "store.people.toml", "copy.duckdb", "copy.private.json"} <= names
    assert others(kept) == {}


def test_the_templates_with_the_policy(tmp_path: Path) -> None:
    write_templates(tmp_path / "mine")
    assert (tmp_path / "mine" / "policy.toml").exists()
    assert others(tmp_path) == {}


def test_the_demo(tmp_path: Path) -> None:
    build_demo(tmp_path / "demo.duckdb")
    assert (tmp_path / "demo.policy.toml").exists()
    assert others(tmp_path) == {}

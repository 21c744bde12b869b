"""Invented histories loaded through the door, like any business's own."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from analytics.answers.demonstrating import build_demo
from analytics.answers.loading import Loaded, load
from analytics.answers.records import Records
from tests.histories import TODAY, Tables, write_tables


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's store, built once; tests only read it."""
    return build_demo(tmp_path_factory.mktemp("demo") / "demo.duckdb").store


@pytest.fixture
def store_path(tmp_path: Path) -> Path:
    """Where a test's store lies."""
    return tmp_path / "store.duckdb"


@pytest.fixture
def load_tables(tmp_path: Path, store_path: Path) -> Callable[..., Loaded]:
    """Loads tables of rows into the test's store."""

    def loader(tables: Tables, folder: str = "files", *, strict: bool = False) -> Loaded:
        return load(store_path, [write_tables(tmp_path / folder, tables)], today=TODAY, strict=strict)

    return loader


@pytest.fixture
def records_of(load_tables: Callable[..., Loaded], store_path: Path) -> Callable[..., Records]:
    """Loads tables and opens the records."""

    def opener(tables: Tables, as_of: date | None = None) -> Records:
        load_tables(tables)
        return Records.of(store_path, as_of)

    return opener

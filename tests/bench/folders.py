"""Where a generated business lies: its parts as files, and the store they are loaded into."""

from pathlib import Path


def parts(folder: Path, kind: str) -> list[Path]:
    """The folders of its parts, each to be loaded by itself; ``kind`` of file, csv or parquet."""
    return sorted((folder / kind).iterdir())


def store(folder: Path) -> Path:
    """The loaded store."""
    return folder / "store.duckdb"

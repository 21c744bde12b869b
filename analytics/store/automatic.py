"""Where a store's automatic backups lie, and which there are."""

import re
from pathlib import Path

NAME = re.compile(r"^(?P<number>\d{6})-(?P<head>[0-9a-f]{12})\.duckdb$")
"""An automatic backup's name: its number, and the head of the trail it holds."""


def folder_of(store: Path) -> Path:
    """The folder beside a store that is for its automatic backups, there or not."""
    return store.with_name(store.name + ".backups")


def automatic(store: Path) -> list[Path]:
    """A store's automatic backups, the latest first."""
    folder = folder_of(store)
    found = folder.iterdir() if folder.is_dir() else ()
    return sorted((path for path in found if NAME.match(path.name)), reverse=True)

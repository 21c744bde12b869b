"""Blank files to start from, and the dictionary of their columns, from the contract's declarations."""

import csv
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZIP_DEFLATED, ZipFile

import polars as pl

from analytics.contract.descriptions import KINDS, accepted, unit
from analytics.contract.examples import EXAMPLES
from analytics.contract.policy import PUBLISHED
from analytics.contract.settings import policy_text
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.store.placing import owner_only


def write_templates(folder: Path) -> list[Path]:
    """Write one CSV a table, with its header and one example row, and the policy file, for their owner only.

    Raises:
        LeakbackError: where a file of that name is there already; nothing is overwritten.
    """
    texts = {f"{name}.csv": None for name in TABLES} | {"policy.toml": policy_text(PUBLISHED)}
    with owner_only():
        return _written(folder, texts)


def _written(folder: Path, texts: Mapping[str, str | None]) -> list[Path]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LeakbackError(f"{folder}: cannot make this folder ({error.strerror})") from error
    if there := [name for name in texts if (folder / name).exists()]:
        raise LeakbackError(f"{folder / there[0]} is there already; choose an empty folder, nothing is overwritten")
    for name, text in texts.items():
        path = folder / name
        if text is not None:
            path.write_text(text, encoding="utf-8")
            continue
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fieldnames=TABLES[path.stem].column_names())
            writer.writeheader()
            writer.writerow(EXAMPLES[path.stem])
    return [folder / name for name in texts]


def zipped_templates() -> bytes:
    """The files of ``write_templates`` in one ZIP file."""
    packed = BytesIO()
    with TemporaryDirectory() as folder, ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for path in write_templates(Path(folder)):
            archive.write(path, path.name)
    return packed.getvalue()


def data_dictionary() -> pl.DataFrame:
    """Every column a business may bring: table, column, kind, unit, accepted, meaning."""
    rows = [
        {
            "table": table,
            "column": name,
            "kind": KINDS[type(column)],
            "unit": unit(column),
            "accepted": accepted(column),
            "needed": "always" if not column.nullable else "",
            "meaning": column.description or "",
        }
        for table, schema in TABLES.items()
        for name, column in schema.columns().items()
    ]
    return pl.DataFrame(rows)

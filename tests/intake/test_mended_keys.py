"""Two rows of one key, mended one after the other: neither overwrites the other without a word."""

from collections.abc import Mapping
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import mending
from analytics.answers.loading import Loaded, load, rejects
from analytics.answers.records import Records
from tests.histories import CRACK, DONE_JOB, TODAY, Tables, write_tables

LONG = {**CRACK, "length_m": 3}


def write_list(store: Path, cells: Mapping[int, str]) -> Path:
    """The work list with what the keys of the rows at these lines should be."""
    path = store.with_name("to-mend.csv")
    path.unlink(missing_ok=True)
    mending.write_work_list(Records.of(store), path, "csv")
    lines = pl.read_csv(path, infer_schema=False)
    said = [cells.get(int(row)) for row in lines["row"]]
    lines.with_columns(mended=pl.Series(said, dtype=pl.String)).write_csv(path)
    return path


def mend(store: Path, cells: Mapping[int, str]) -> Loaded:
    return load(store, [write_list(store, cells)], today=TODAY)


def lengths(store: Path) -> dict[str, float]:
    return dict(Records.of(store).store.frame("select crack_id, length_m from cracks").iter_rows())


def waiting(store: Path) -> list[tuple[int, str]]:
    return rejects(Records.of(store)).select("row", "reason").rows()


@pytest.fixture
def clashing(store_path: Path) -> Path:
    """Cracks K-2, loaded, and two of the number K-1, in lines 3 and 4."""
    rows: Tables = {"jobs": [DONE_JOB], "cracks": [{**CRACK, "crack_id": "K-2"}, CRACK, LONG]}
    load(store_path, [write_tables(store_path.parent / "files", rows)], today=TODAY)
    assert len(waiting(store_path)) == 2
    return store_path


@pytest.mark.parametrize("again", [1, 2])
def test_the_second_of_two_does_not_overwrite_the_first(clashing: Path, again: int) -> None:
    assert mend(clashing, {4: "K-1"}).tables["cracks"].loaded == 1
    for _ in range(again):
        assert mend(clashing, {3: "K-1"}).tables["cracks"].rejected == 1
    assert lengths(clashing) == {"K-1": 3, "K-2": 2}
    [(row, reason)] = waiting(clashing)
    assert row == 3
    assert reason.startswith("another row with the crack_id K-1 has been read since, which a list does not overwrite")
    assert mend(clashing, {3: "K-3"}).tables["cracks"].loaded == 1
    assert lengths(clashing) == {"K-1": 3, "K-2": 2, "K-3": 2}


def test_a_key_of_another_row_of_the_same_load_is_refused(clashing: Path) -> None:
    assert mend(clashing, {4: "K-2"}).tables["cracks"].rejected == 1
    assert lengths(clashing) == {"K-2": 2}


def test_a_crack_held_before_is_put_right_once(store_path: Path) -> None:
    before = write_tables(store_path.parent / "before", {"jobs": [DONE_JOB], "cracks": [CRACK]})
    load(store_path, [before], today=TODAY)
    load(store_path, [write_tables(store_path.parent / "after", {"cracks": [CRACK, LONG]})], today=TODAY)
    assert mend(store_path, {2: "K-1"}).tables["cracks"].unchanged == 1
    assert mend(store_path, {3: "K-1"}).tables["cracks"].rejected == 1
    assert lengths(store_path) == {"K-1": 2}


def test_the_right_one_of_two_replaces_one_held_before(store_path: Path) -> None:
    before = write_tables(store_path.parent / "before", {"jobs": [DONE_JOB], "cracks": [CRACK]})
    load(store_path, [before], today=TODAY)
    load(store_path, [write_tables(store_path.parent / "after", {"cracks": [CRACK, LONG]})], today=TODAY)
    assert mend(store_path, {3: "K-1"}).tables["cracks"].loaded == 1
    assert lengths(store_path) == {"K-1": 3}

"""A rejected row, and a later row of its key that is about another job: the one does not speak for the other."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import mending
from analytics.answers.loading import Loaded, load, rejects
from analytics.answers.records import Records
from tests.histories import CRACK, DONE_JOB, TODAY

Loader = Callable[..., Loaded]
JOBS = [DONE_JOB, {**DONE_JOB, "job_id": "J-2"}]
FAULTY = {**CRACK, "length_m": "abc"}
CALL = {"callback_id": "B-1", "job_id": "J-1", "reported_on": "2024-03-01", "finding": "leak_back"}


def waiting(store: Path) -> list[tuple[str, str | None, str]]:
    return rejects(Records.of(store)).select("table", "key", "column").rows()


def mend(store: Path, said: str) -> Loaded:
    path = store.with_name("to-mend.csv")
    path.unlink(missing_ok=True)
    mending.write_work_list(Records.of(store), path, "csv")
    pl.read_csv(path, infer_schema=False).with_columns(mended=pl.lit(said)).write_csv(path)
    return load(store, [path], today=TODAY)


def test_a_crack_waits_on_where_another_jobs_crack_of_its_number_is_loaded(
    load_tables: Loader, store_path: Path
) -> None:
    load_tables({"jobs": JOBS, "cracks": [FAULTY]}, "january")
    load_tables({"cracks": [{**CRACK, "job_id": "J-2"}]}, "february")
    assert waiting(store_path) == [("cracks", "K-1", "length_m")]
    assert mend(store_path, "3").tables["cracks"].rejected == 1, "the other job's crack is not overwritten"
    assert waiting(store_path) == [("cracks", None, "crack_id")]
    assert mend(store_path, "K-1b").tables["cracks"].loaded == 1
    assert waiting(store_path) == []
    cracks = dict(Records.of(store_path).store.frame("select crack_id, job_id from cracks").iter_rows())
    assert cracks == {"K-1": "J-2", "K-1b": "J-1"}


def test_a_call_waits_on_where_one_of_its_number_about_another_job_is_loaded(
    load_tables: Loader, store_path: Path
) -> None:
    load_tables({"jobs": JOBS, "callbacks": [{**CALL, "finding": "ghosts"}]}, "january")
    load_tables({"callbacks": [{**CALL, "job_id": "J-2"}]}, "february")
    assert waiting(store_path) == [("callbacks", "B-1", "finding")]
    load_tables({"callbacks": [CALL]}, "march")
    assert waiting(store_path) == []


@pytest.mark.parametrize("second", [{"width_mm": "x"}, {"job_id": "J-9", "width_mm": "x"}])
def test_rows_of_one_key_about_the_same_job_or_an_unknown_one_are_one_row(
    load_tables: Loader, store_path: Path, second: dict[str, str]
) -> None:
    load_tables({"jobs": JOBS, "cracks": [FAULTY]}, "january")
    load_tables({"cracks": [{**CRACK, **second}]}, "february")
    assert {column for _, _, column in waiting(store_path)} == {"width_mm", *second}
    load_tables({"cracks": [CRACK]}, "march")
    assert waiting(store_path) == []

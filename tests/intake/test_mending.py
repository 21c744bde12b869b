"""A rejected row waits until that row is read again, and a work list mends the rows it was written about."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Literal

import polars as pl
import pytest

from analytics.answers import mending
from analytics.answers.loading import Loaded, load, rejects, undo
from analytics.answers.records import Records
from analytics.contract.batch import TableCount
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError, UnreadableFileError
from analytics.intake import parse_map
from analytics.pages import loads, rejected
from analytics.store import Store
from tests.histories import CRACK, DONE_JOB, TODAY, write_tables

Loader = Callable[..., Loaded]
A1, A2, A3 = ({**DONE_JOB, "job_id": name} for name in ("A-1", "A-2", "A-3"))
FAULTY = {**A2, "done_on": "2024-13-12"}
"""A row that is rejected, its key read."""
IN_US_UNITS = """
version = 1
[jobs]
from = "jobs"
[jobs.columns]
job_id = "job"
crew_id = "crew"
status = "state"
done_on = "done"
warranty_months = { header = "warranty", unit = "yrs" }
[cracks]
from = "cracks"
[cracks.columns]
crack_id = "crack"
job_id = "job"
length_m = { header = "long", unit = "ft" }
labour_minutes = { header = "time", unit = "hours" }
resin_litres = { header = "resin", unit = "fl oz" }
wall_temp_c = { header = "wall", unit = "f" }
"""
NAMELESS = {**A2, "job_id": "the job at the corner"}
"""A row that is rejected, its key not read."""


def waiting(store: Path) -> list[tuple[int, str | None, str]]:
    return rejects(Records.of(store)).select("row", "key", "column").rows()


def crews(store: Path) -> dict[str, str]:
    return dict(Store(store).frame("select job_id, crew_id from jobs").iter_rows())


def written_list(store: Path) -> Path:
    path = store.with_name("to-mend.csv")
    path.unlink(missing_ok=True)
    mending.write_work_list(Records.of(store), path, "csv")
    return path


def fill_in(path: Path, cells: Mapping[str | None, str]) -> None:
    """Write under mended what the cells of the rows with these keys should be."""
    lines = pl.read_csv(path, infer_schema=False)
    said = [cells.get(key) for key in lines["key"]]
    lines.with_columns(mended=pl.Series(said, dtype=pl.String)).write_csv(path)


def load_list(store: Path, path: Path) -> TableCount:
    return load(store, [path], today=TODAY).tables["jobs"]


def test_another_file_of_the_same_name_leaves_a_rejected_row_waiting(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]}, "january")
    january = written_list(store_path)
    load_tables({"jobs": [A3]}, "february")
    assert waiting(store_path) == [(3, "A-2", "done_on")]
    fill_in(january, {"A-2": "2024-01-12"})
    assert load_list(store_path, january) == TableCount(read=1, loaded=1, unchanged=0, rejected=0)
    assert waiting(store_path) == []
    assert set(crews(store_path)) == {"A-1", "A-2", "A-3"}
    assert load_list(store_path, january) == TableCount(read=1, loaded=0, unchanged=1, rejected=0)


@pytest.mark.parametrize(("folder", "name"), [("files", "jobs"), ("mended", "jobs-2")])
def test_a_row_waits_no_longer_once_it_is_loaded(load_tables: Loader, store_path: Path, folder: str, name: str) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    load_tables({name: [A3, A2]}, folder)
    assert waiting(store_path) == []
    with Store(store_path).connect(read_only=False) as connection:
        connection.execute("delete from load_waiting where batch = 2")  # as a load before this was written down
    assert waiting(store_path) == []
    undo(store_path)
    assert waiting(store_path) == [(3, "A-2", "done_on")]


def test_a_rejected_change_waits_until_its_row_is_read_again(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, A2]})
    load_tables({"jobs": [A1, FAULTY]}, "changed")
    load_tables({"jobs": [A1, A3]}, "without it")
    assert waiting(store_path) == [(3, "A-2", "done_on")]
    again = load_tables({"jobs": [A3, A2]}, "as it was")
    assert again.tables["jobs"] == TableCount(read=2, loaded=0, unchanged=2, rejected=0)
    assert waiting(store_path) == []
    undo(store_path)
    assert waiting(store_path) == [(3, "A-2", "done_on")]


def test_a_row_rejected_again_waits_once_and_an_earlier_list_mends_it(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    first = written_list(store_path)
    load_tables({"jobs": [A1, FAULTY]})
    assert waiting(store_path) == [(3, "A-2", "done_on")]
    load_tables({"jobs": [{**FAULTY, "crew_id": "C09"}]}, "moved up")
    assert waiting(store_path) == [(2, "A-2", "done_on")]
    fill_in(first, {"A-2": "2024-01-12"})
    assert load_list(store_path, first).loaded == 1
    assert crews(store_path)["A-2"] == "C09", "the latest reading of its other cells counts"
    assert waiting(store_path) == []


def test_a_row_whose_key_was_not_read_waits_until_its_file_is_loaded_again(
    load_tables: Loader, store_path: Path
) -> None:
    load_tables({"jobs": [A1, NAMELESS]})
    assert waiting(store_path) == [(3, None, "job_id")]
    load_tables({"jobs": [A1, A3]}, "mended")
    assert waiting(store_path) == []


def test_no_row_of_a_list_is_called_unchanged_that_is_not_in_the_records(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, NAMELESS]})
    early = written_list(store_path)
    load_tables({"jobs": [A3]}, "another")
    assert waiting(store_path) == []
    fill_in(early, {None: "A-2"})
    assert load_list(store_path, early).loaded == 1
    assert load_list(store_path, early).unchanged == 1
    assert set(crews(store_path)) == {"A-1", "A-2", "A-3"}


def two_of_one_place(load_tables: Loader, store_path: Path) -> Path:
    """A list of two rows that both stood in the third line of a file called jobs.csv."""
    load_tables({"jobs": [A1, FAULTY]}, "january")
    load_tables({"jobs": [A1, {**A3, "crew_id": "C09", "done_on": "soon"}]}, "february")
    assert sorted(waiting(store_path)) == [(3, "A-2", "done_on"), (3, "A-3", "done_on")]
    assert rejected.build(rejects(Records.of(store_path))).answer == "2 rows to be mended and loaded again."
    return written_list(store_path)


@pytest.mark.parametrize(("key", "other"), [("A-2", "A-3"), ("A-3", "A-2")])
def test_rows_of_one_place_in_two_files_are_mended_each_for_itself(
    load_tables: Loader, store_path: Path, key: str, other: str
) -> None:
    path = two_of_one_place(load_tables, store_path)
    fill_in(path, {key: "2024-01-12"})
    assert load_list(store_path, path).loaded == 1
    assert crews(store_path)[key] == {"A-2": "C01", "A-3": "C09"}[key]
    assert waiting(store_path) == [(3, other, "done_on")]


@pytest.mark.parametrize(("key", "mended"), [("A-2", "2024-01-12"), (None, "A-3")])
def test_a_row_without_a_key_and_one_of_its_place_wait_each_for_itself(
    load_tables: Loader, store_path: Path, key: str | None, mended: str
) -> None:
    load_tables({"jobs": [A1, FAULTY]}, "january")
    load_tables({"jobs": [A1, NAMELESS]}, "february")
    both = {"A-2": (3, "A-2", "done_on"), None: (3, None, "job_id")}
    path = written_list(store_path)
    fill_in(path, {key: mended})
    assert load_list(store_path, path).loaded == 1
    assert waiting(store_path) == [row for name, row in both.items() if name != key]


def test_where_a_list_does_not_say_which_row_is_meant_nothing_is_loaded(load_tables: Loader, store_path: Path) -> None:
    path = two_of_one_place(load_tables, store_path)
    fill_in(path, {"A-2": "2024-01-12", "A-3": "2024-01-12"})
    with pytest.raises(UnreadableFileError, match=r"row 3 of jobs\.csv is listed for two rows: mend one"):
        load_list(store_path, path)
    pl.read_csv(path, infer_schema=False).drop("key").write_csv(path)
    with pytest.raises(UnreadableFileError, match=r"which row 3 of jobs\.csv"):
        load_list(store_path, path)
    assert len(waiting(store_path)) == 2


def test_a_list_without_keys_mends_the_only_row_of_its_place(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]})
    path = written_list(store_path)
    fill_in(path, {"A-2": "2024-01-12"})
    pl.read_csv(path, infer_schema=False).drop("key").write_csv(path)
    assert load_list(store_path, path).loaded == 1


def test_a_rate_is_known_again_by_its_day_and_item(load_tables: Loader, store_path: Path) -> None:
    rate: dict[str, Any] = {"effective_on": "2024-01-01", "item": "port_each", "amount": 2, "currency": "USD"}
    load_tables({"rates": [{**rate, "amount": "dear"}]})
    load_tables({"rates": [{**rate, "item": "seal_kg"}]}, "another item")
    assert waiting(store_path) == [(2, "2024-01-01 port_each", "amount")]
    load_tables({"rates": [rate]}, "mended")
    assert waiting(store_path) == []


@pytest.mark.parametrize("table", TABLES)
def test_every_table_is_read_again_by_its_own_key(store_path: Path, table: str) -> None:
    """The SELECTs name tables and keys by hand: none of the contract's may be forgotten."""
    keys = TABLES[table].primary_key()
    sound = pl.DataFrame({key: f"the {key}" for key in keys}).select(pl.struct(keys).struct.json_encode()).item()
    store = Store.open_or_create(store_path)
    with store.connect(read_only=False) as connection:
        connection.execute("insert into load_waiting values (1, ?, 'f', 2, ?)", [table, sound])
    [kept] = Records.of(store_path).ask("kept_rows")["key"]
    assert kept == " ".join(f"the {key}" for key in keys)


def test_every_row_in_the_records_is_read_by_its_own_key(demo_store: Path) -> None:
    records = Records.of(demo_store)
    readings = set(records.ask("readings").select("table", "key").rows())
    for table, schema in TABLES.items():
        keys = records.store.frame(f"select {', '.join(schema.primary_key())} from {table}").cast(pl.String).rows()
        assert keys
        assert {(table, " ".join(key)) for key in keys} <= readings


def test_a_crack_waits_for_itself_not_for_its_job(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [{**CRACK, "length_m": "abc"}]})
    load_tables({"jobs": [DONE_JOB], "cracks": [{**CRACK, "crack_id": "K-2"}]}, "another")
    assert waiting(store_path) == [(2, "K-1", "length_m")]


def test_a_row_without_a_key_that_was_mended_is_not_brought_back_by_its_list(
    load_tables: Loader, store_path: Path
) -> None:
    load_tables({"jobs": [A1, {**A2, "job_id": ""}]}, "january")
    january = written_list(store_path)
    fill_in(january, {None: "A-2"})
    assert load_list(store_path, january).loaded == 1
    load_tables({"jobs-2": [{**A2, "crew_id": "C99"}]}, "march")
    assert load_list(store_path, january) == TableCount(read=1, loaded=0, unchanged=1, rejected=0)
    assert crews(store_path)["A-2"] == "C99"


def test_a_list_and_a_file_of_the_name_it_mends_are_not_loaded_at_once(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY]}, "january")
    january = written_list(store_path)
    fill_in(january, {"A-2": "2024-01-12"})
    february = write_tables(store_path.parent / "february", {"jobs": [A3]})
    with pytest.raises(LeakbackError, match="load the list first, then the file"):
        load(store_path, [january, february], today=TODAY)
    assert set(crews(store_path)) == {"A-1"}


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_work_list_that_cannot_be_written_is_one_sentence(
    load_tables: Loader, store_path: Path, form: Literal["csv", "xlsx"]
) -> None:
    load_tables({"jobs": [FAULTY]})
    nowhere = store_path.with_name("no folder") / f"list.{form}"
    with pytest.raises(LeakbackError, match=r"cannot be written \(No such file or directory\)"):
        mending.write_work_list(Records.of(store_path), nowhere, form)


def test_a_cell_mended_as_its_reason_says_is_of_the_unit_of_its_file(store_path: Path) -> None:
    """A list is read without the map that its file came with: a number alone would be of another unit."""
    job = {"job": "A-1", "crew": "C01", "state": "done", "done": "2024-01-15", "warranty": "5"}
    other = job | {"job": "A-2", "warranty": "two"}
    crack = {"crack": "K-1", "job": "A-1", "long": "?", "time": "2h30", "resin": "9 9", "wall": "cold"}
    files = write_tables(store_path.with_name("own"), {"jobs": [job, other], "cracks": [crack]})
    load(store_path, [files], column_map=parse_map(IN_US_UNITS), today=TODAY)
    path = written_list(store_path)
    example = pl.col("reason").str.extract(r" such as ([^;]*)")
    pl.read_csv(path, infer_schema=False).with_columns(mended=example).write_csv(path)
    load(store_path, [path], today=TODAY)
    store = Store(store_path)
    assert store.frame("select warranty_months from jobs order by job_id").to_series().to_list() == [60, 24]
    read = store.frame("select length_m, labour_minutes, resin_litres, wall_temp_c from cracks").row(0)
    assert read == pytest.approx((0.762, 150, 0.073934, -16.388889), abs=1e-6)


def test_a_list_of_mended_rows_is_among_the_loads_in_force(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [A1, FAULTY], "cracks": [{**CRACK, "job_id": "A-1", "length_m": "?"}]})
    path = written_list(store_path)
    fill_in(path, {"A-2": "2024-01-12", "K-1": "2.5"})
    load(store_path, [path], today=TODAY)
    found = Records.of(store_path).ask("load_ledger").select("batch", "table_name", "file", "loaded").rows()
    assert found[:2] == [(2, "cracks", "to-mend.csv", 1), (2, "jobs", "to-mend.csv", 1)]
    assert loads.build(Records.of(store_path).ask("load_ledger")).answer == "2 loads in force."

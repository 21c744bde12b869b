"""What is proposed for a rejected cell is what the cell says, and loads when it is copied as it stands."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import mending
from analytics.answers.loading import Loaded, load, rejects
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.intake import Known
from analytics.intake.nearest import nearest
from analytics.store import Store
from tests.histories import CRACK, DONE_JOB, TODAY
from tests.intake.brought import brought, csv_bytes

Loader = Callable[..., Loaded]


def proposed(table: str, column: str, cell: str, column_map: str = "") -> str | None:
    rows: dict[str, dict[str, object]] = {"jobs": {**DONE_JOB}, "cracks": {**CRACK}}
    row = rows[table] | {column: cell}
    jobs = pl.DataFrame([DONE_JOB]).select("job_id", "status", pl.col("done_on").str.to_date())
    known = Known.of({"jobs": jobs, "cracks": TABLES["cracks"].create_empty()})
    batch = brought({f"{table}.csv": csv_bytes([list(row), list(row.values())])}, column_map, known)
    [found] = batch.rejects.filter(pl.col("column") == column)["nearest"].to_list()
    return None if found is None else str(found)


@pytest.mark.parametrize(
    ("table", "column", "cell", "nearest"),
    [
        ("cracks", "length_m", "8 ft", "2.4384"),
        ("cracks", "length_m", "96 in", "2.4384"),
        ("cracks", "length_m", "2,5 m", "2.5"),
        ("cracks", "wall_temp_c", "50 F", "10"),
        ("cracks", "width_mm", '1/8"', "3.175"),
        ("jobs", "warranty_months", "10 years", "120"),
        ("jobs", "price_quoted", "$ 1,250.50", "1250.50"),
        ("jobs", "price_quoted", "1234.567", "1234.57"),
        ("jobs", "done_on", "15/03/2024", "2024-03-15"),
        ("jobs", "travel_minutes", "2 HRS", "120"),
        ("cracks", "labour_minutes", "2 hours", "120"),
    ],
)
def test_a_cell_of_a_known_unit_is_proposed_in_ours(table: str, column: str, cell: str, nearest: str) -> None:
    assert proposed(table, column, cell) == nearest


@pytest.mark.parametrize(
    ("table", "column", "cell"),
    [
        ("cracks", "length_m", "96"),
        ("cracks", "length_m", "500 ft"),
        ("cracks", "length_m", "8 x"),
        ("cracks", "length_m", "8 L"),
        ("cracks", "length_m", "1.250 m"),
        ("cracks", "width_mm", "-1"),
        ("cracks", "port_count", "3.5"),
        ("cracks", "port_count", "8 ft"),
        ("cracks", "labour_minutes", "two hours"),
        ("jobs", "warranty_months", "0.5 months"),
        ("jobs", "travel_minutes", "$5"),
        ("cracks", "wall_temp_c", "$5"),
        ("cracks", "port_count", "5 EUR"),
        ("jobs", "price_quoted", "1.250"),
        ("jobs", "price_quoted", "-1"),
        ("jobs", "done_on", "2027-03-15"),
        ("jobs", "done_on", "15/03/2027"),
    ],
)
def test_nothing_is_proposed_that_the_cell_does_not_say_or_that_would_be_rejected(
    table: str, column: str, cell: str
) -> None:
    assert proposed(table, column, cell) is None


@pytest.mark.parametrize("table", TABLES)
def test_nonsense_in_any_column_is_looked_at_without_stopping_the_load(table: str) -> None:
    for column in TABLES[table].columns().values():
        assert nearest(pl.Series(["?!"]), column) == [None]


def test_plain_numbers_are_in_the_unit_that_the_map_gives() -> None:
    assert nearest(pl.Series(["8"]), TABLES["cracks"].columns()["length_m"], "ft") == ["2.4384"]


@pytest.mark.parametrize("day", ["2024-01-01", "01/01/2024"])
def test_nothing_is_proposed_that_was_read_so_already(day: str) -> None:
    head = ["effective_on", "item", "amount", "currency"]
    rates = csv_bytes([head, [day, "port_each", "1.1", "USD"], [day, "port_each", "1.2", "USD"]])
    told = ["version = 1", "[rates.columns]", *(f'{name} = "{name}"' for name in head)]
    column_map = "\n".join([told[0], 'date_format = "DD/MM/YYYY"', *told[1:]]) if "/" in day else ""
    batch = brought({"rates.csv": rates}, column_map)
    assert batch.rejects.select("column", "cell", "nearest").rows() == [("effective_on", day, None)] * 2


@pytest.mark.parametrize("cell", ["2024-01-14", "14/01/2024", "14.01.2024"])
def test_no_day_of_a_call_is_proposed_before_its_job(load_tables: Loader, store_path: Path, cell: str) -> None:
    call = {"callback_id": "B-1", "job_id": "J-1", "reported_on": cell, "finding": "leak_back"}
    load_tables({"jobs": [DONE_JOB], "callbacks": [call, {**call, "callback_id": "B-2", "reported_on": "16/01/2024"}]})
    assert rejects(Records.of(store_path))["nearest"].to_list() == [None, "2024-01-16"]


def test_proposals_copied_into_a_work_list_load_as_they_stand(load_tables: Loader, store_path: Path) -> None:
    crack = {**CRACK, "length_m": "8 ft", "wall_temp_c": "50 F"}
    load_tables({"jobs": [{**DONE_JOB, "warranty_months": "10 years"}], "cracks": [crack]})
    written = store_path.with_name("list.csv")
    mending.write_work_list(Records.of(store_path), written, "csv")
    lines = pl.read_csv(written, infer_schema=False)
    job = pl.when(pl.col("column") == "job_id").then(pl.lit("J-1"))
    lines.with_columns(mended=pl.coalesce("nearest", job)).write_csv(written)
    load(store_path, [written], today=TODAY)
    assert Store(store_path).frame("select length_m, wall_temp_c from cracks").rows() == [(2.4384, 10.0)]
    assert Store(store_path).frame("select warranty_months from jobs").rows() == [(120,)]

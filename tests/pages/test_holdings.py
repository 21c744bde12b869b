"""The page of the records, on the demo."""

from pathlib import Path

import polars as pl

from analytics.answers.loading import load
from analytics.answers.records import Records
from analytics.contract.roles import RIGHTS, Role
from analytics.contract.tables import TABLES
from analytics.pages import holdings
from analytics.pages.page import Downloads, Folded, Section, Table
from analytics.pages.seen_by import seen_by
from analytics.pages.within import every_part
from tests.histories import DONE_JOB, write_tables


def test_the_columns_of_every_table_open_where_they_stand(demo_store: Path) -> None:
    page = holdings.build(Records.of(demo_store), {})
    assert page.choices == ()
    [meanings] = [part for part in page.parts if isinstance(part, Section) and part.title == "What the columns mean"]
    told = {}
    for fold in meanings.parts:
        assert isinstance(fold, Folded)
        [table] = fold.parts
        assert isinstance(table, Table)
        told[fold.title] = table.rows["column"].to_list()
    assert told == {f"Columns of {name}": list(schema.columns()) for name, schema in TABLES.items()}


def test_the_list_to_mend_is_taken_away_with_room_for_what_each_cell_should_be_and_loads(
    store_path: Path, tmp_path: Path
) -> None:
    load(store_path, [write_tables(tmp_path / "files", {"jobs": [{**DONE_JOB, "done_on": "2024-13-12"}]})])
    page = holdings.build(Records.of(store_path), {})
    [taken] = [file for part in every_part(page.parts) if isinstance(part, Downloads) for file in part.rows]
    (tmp_path / taken.file_name).write_bytes(taken.document())  # type: ignore[arg-type]
    lines = pl.read_excel(tmp_path / taken.file_name, engine="calamine")
    assert lines["column"].to_list() == ["done_on"]
    assert {"unit", "mended"} <= set(lines.columns)
    lines.with_columns(mended=pl.lit("2024-12-13")).write_csv(tmp_path / "mended.csv")
    assert load(store_path, [tmp_path / "mended.csv"]).tables["jobs"].loaded == 1


def test_the_list_to_mend_is_for_those_who_may_load_it(store_path: Path, tmp_path: Path) -> None:
    load(store_path, [write_tables(tmp_path / "files", {"jobs": [{**DONE_JOB, "done_on": "2024-13-12"}]})])
    page = holdings.build(Records.of(store_path), {})
    expected: dict[Role, bool] = {"owner": True, "lead": True, "estimator": False}
    for role, sees in expected.items():
        seen = seen_by(RIGHTS[role], page, ())
        assert any(isinstance(part, Downloads) for part in every_part(seen.parts)) == sees

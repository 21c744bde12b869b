"""The page of the records, on the demo."""

from pathlib import Path

from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.pages import holdings
from analytics.pages.page import Folded, Section, Table


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

"""Every table of every page: what names a crack opens its job."""

from pathlib import Path

import pytest

from analytics.answers.records import Records
from analytics.pages.page import Table
from analytics.pages.questions import PAGES
from analytics.pages.within import every_part


@pytest.fixture(scope="module")
def shown(demo_store: Path) -> list[Table]:
    records = Records.of(demo_store)
    parts = (part for _, build in PAGES.values() for part in every_part(build(records, {}).parts))
    return [part for part in parts if isinstance(part, Table)]


def test_a_table_that_names_cracks_opens_their_jobs(shown: list[Table]) -> None:
    naming = [table for table in shown if "crack_id" in {column.key for column in table.columns}]
    assert len(naming) > 4
    for table in naming:
        links = {column.key: column.link for column in table.columns}
        assert links.get("job_id") in {"record", "upcoming"}, table.title

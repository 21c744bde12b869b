import pytest

from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from tests.intake import corpus_texts, corpus_workbooks
from tests.intake.brought import brought, counts
from tests.intake.case import Case

CASES = [*corpus_texts.CASES, *corpus_workbooks.CASES]
FEWEST = 40


def test_the_corpus_is_large_and_every_sin_has_a_name() -> None:
    assert len({case.sin for case in CASES}) == len(CASES) >= FEWEST


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.sin)
def test_every_row_of_an_awkward_file_is_accounted_for(case: Case) -> None:
    if case.error:
        with pytest.raises(LeakbackError, match=case.error):
            brought(case.files(), case.column_map)
        return
    batch = brought(case.files(), case.column_map)
    assert {table: counts(batch, table) for table in batch.tables} == case.counts
    for (table, column), values in case.cells.items():
        found = set(batch.tables[table].clean[column].to_list())
        assert {str(value) for value in found} == {str(value) for value in values}
    reasons = batch.rejects["reason"].to_list()
    assert not case.reason or any(case.reason in reason for reason in reasons), reasons
    assert all(
        name in TABLES[table].column_names() or not name for table, name in batch.rejects[["table", "column"]].rows()
    )

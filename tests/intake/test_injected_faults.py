"""Random tables with injected faults: none lost, none loaded wrong, no traceback.

``LEAKBACK_TABLES`` sets how many; few by default, so that the suite stays quick.
"""

import os
from random import Random
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.intake.brought import brought, counts, csv_bytes, faults, workbook
from tests.intake.invented import Invented, invent

TABLES = int(os.environ.get("LEAKBACK_TABLES", "100"))
DIALECTS = [(",", "utf-8"), (";", "utf-8-sig"), ("\t", "utf-16"), (";", "cp1252"), (",", "utf-8-sig"), ("", "")]


def as_files(made: Invented, delimiter: str, encoding: str) -> dict[str, bytes]:
    rows = {table: [list(texts[0]), *(list(row.values()) for row in texts)] for table, texts in made.texts.items()}
    if not delimiter:
        return {"work.xlsx": workbook(**rows)}
    return {f"{table}.csv": csv_bytes(cells, delimiter, encoding) for table, cells in rows.items()}


def kept(made: Invented, table: str) -> list[tuple[Any, ...]]:
    rows = made.jobs if table == "jobs" else made.cracks
    return sorted((tuple(row.values()) for row in rows), key=lambda row: str(row[0]))


@settings(max_examples=TABLES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(random=st.randoms(use_true_random=False), dialect=st.sampled_from(DIALECTS), comma=st.booleans())
def test_every_row_is_kept_as_it_is_or_rejected_at_the_faulty_cell(
    random: Random, dialect: tuple[str, str], comma: bool
) -> None:
    delimiter, encoding = dialect
    made = invent(random, comma and delimiter != ",")
    batch = brought(as_files(made, delimiter, encoding))
    named = {table: {(row, column) for t, _, row, column, _, _, _ in batch.rejects.iter_rows() if t == table}
             for table in made.texts}  # fmt: skip
    for table, texts in made.texts.items():
        wanted = made.spoilt[table]
        assert wanted <= named[table], faults(batch)
        assert {row for row, _ in named[table]} == {row for row, _ in wanted}
        read, _, repeated, rejected = counts(batch, table)
        assert (read, repeated, rejected) == (len(texts), made.repeated[table], len({row for row, _ in wanted}))
        columns = list(texts[0])
        found = batch.tables[table].clean.select(columns).rows()
        assert sorted(found, key=lambda row: str(row[0])) == kept(made, table)

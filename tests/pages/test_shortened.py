"""Lists cut short on the pages: how many rows they leave out is said."""

from collections.abc import Callable, Sequence
from pathlib import Path

import polars as pl
import pytest

from analytics.answers.loading import Loaded
from analytics.answers.records import Records
from analytics.pages import bring, holdings
from analytics.pages.page import Column, Part, Table
from analytics.pages.shortened import first_rows
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB, write_tables


@pytest.mark.parametrize(("rows", "said"), [(2, "How to."), (3, "Not shown: 1 more row. How to."), (0, "How to.")])
def test_what_a_list_leaves_out_is_said(rows: int, said: str) -> None:
    table = Table((Column("at", "at"),), pl.DataFrame({"at": range(rows)}), "Rows", note="How to.")
    cut = first_rows(table, 2, "row")
    assert (cut.rows.height, cut.note) == (min(rows, 2), said)


def test_faulty_cells_beyond_the_list_are_counted(
    load_tables: Callable[..., Loaded], store_path: Path, tmp_path: Path
) -> None:
    many = max(bring.MOST_REJECTS, holdings.MOST_REJECTS) + 8
    cracks = [{**CRACK, "crack_id": f"K-{place}", "width_mm": -1} for place in range(many)]
    load_tables({"jobs": [DONE_JOB], "cracks": [CRACK]})
    folder = write_tables(tmp_path / "faulty", {"cracks": cracks})
    looked = bring.look(store_path, (("cracks.csv", (folder / "cracks.csv").read_bytes()),), "")
    assert shown(looked.parts) == (bring.MOST_REJECTS, f"Not shown: {many - bring.MOST_REJECTS} more faulty cells.")
    load_tables({"cracks": cracks}, "again")
    held = shown(holdings.build(Records.of(store_path), {}).parts)
    assert held == (holdings.MOST_REJECTS, "Not shown: 8 more faulty cells. All are in: leakback rejects.")


def shown(parts: Sequence[Part]) -> tuple[int, str]:
    """How many rejected rows are listed, and the first sentences of the note."""
    [table] = [part for part in every_part(parts) if isinstance(part, Table) and part.title == "Rejected rows"]
    return table.rows.height, table.note.partition(" A cell is shown")[0]

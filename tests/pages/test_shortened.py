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
from analytics.render import markup, spreadsheets
from tests.histories import CRACK, DONE_JOB, write_tables

FILES = "The CSV and XLSX have them."


@pytest.mark.parametrize(("rows", "left"), [(2, ""), (3, f"Not shown: 1 more row. {FILES} "), (0, "")])
def test_what_a_list_leaves_out_is_said(rows: int, left: str) -> None:
    table = Table((Column("at", "at"),), pl.DataFrame({"at": range(rows)}), "Rows", note="How to.")
    cut = first_rows(table, 2, "row")
    assert (cut.listed.height, cut.note) == (min(rows, 2), f"{left}How to.")


def test_a_file_of_a_table_cut_short_has_every_row() -> None:
    cut = first_rows(Table((Column("at", "at"),), pl.DataFrame({"at": range(3)}), "Rows"), 2, "row")
    assert spreadsheets.csv(cut).decode("utf-8-sig").split() == ["at", "0", "1", "2"]
    assert [markup.table(cut).count(f">{at}<") for at in range(3)] == [1, 1, 0]


def test_faulty_cells_beyond_the_list_are_counted(
    load_tables: Callable[..., Loaded], store_path: Path, tmp_path: Path
) -> None:
    many = max(bring.MOST_REJECTS, holdings.MOST_REJECTS) + 8
    cracks = [{**CRACK, "crack_id": f"K-{place}", "width_mm": -1} for place in range(many)]
    load_tables({"jobs": [DONE_JOB], "cracks": [CRACK]})
    folder = write_tables(tmp_path / "faulty", {"cracks": cracks})
    looked = bring.look(store_path, (("cracks.csv", (folder / "cracks.csv").read_bytes()),), "")
    assert shown(looked.parts) == (
        bring.MOST_REJECTS,
        f"Not shown: {many - bring.MOST_REJECTS} more faulty cells. {FILES}",
    )
    load_tables({"cracks": cracks}, "again")
    held = shown(holdings.build(Records.of(store_path), {}).parts)
    assert held == (holdings.MOST_REJECTS, f"Not shown: 8 more faulty cells. {FILES}")


def shown(parts: Sequence[Part]) -> tuple[int, str]:
    """How many rejected rows are listed, and the first sentences of the note."""
    [table] = [part for part in every_part(parts) if isinstance(part, Table) and part.title == "Rejected rows"]
    return table.listed.height, table.note.partition(" A cell is shown")[0]


def test_the_files_of_the_audit_trail_hold_what_the_page_leaves_out(
    load_tables: Callable[..., Loaded], store_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [CRACK]})
    load_tables({"cracks": [{**CRACK, "width_mm": 2}]}, "again")
    entries = Records.of(store_path).ask("audit_trail").height
    monkeypatch.setattr(holdings, "MOST_ENTRIES", 1)
    parts = every_part(holdings.build(Records.of(store_path), {}).parts)
    [trail] = [part for part in parts if isinstance(part, Table) and part.title == "Audit trail"]
    assert (trail.listed.height, trail.rows.height) == (1, entries)
    assert trail.note.startswith(f"Not shown: {entries - 1} more entr")
    assert trail.note.endswith(FILES)

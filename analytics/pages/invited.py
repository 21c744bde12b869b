"""Who may open the dashboard, as a page for the terminal."""

from collections.abc import Sequence

import polars as pl

from analytics.answers.inviting import COLUMNS, Invited
from analytics.contract import words
from analytics.pages.page import Column, Page, Table

NOBODY = "Nobody has a role yet. Give the first one with: leakback people set ADDRESS owner"


def build(found: Sequence[Invited]) -> Page:
    """Everybody with a role, what it allows, and their code in the audit trail."""
    schema = dict.fromkeys(COLUMNS, pl.String)
    rows = pl.DataFrame([each.answer() for each in found], schema=schema)
    columns = (
        Column("name", "signs in as"),
        Column("role", "role"),
        Column("does", "what it allows"),
        Column("code", "code", help="stands for the person in the audit trail"),
    )
    answer = f"{words.counted(len(found), 'person has', 'people have')} a role." if found else NOBODY
    return Page(answer, (Table(columns, rows, "People", empty="Nobody yet."),) if found else ())

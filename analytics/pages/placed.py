"""Leak-backs that name no crack in a job of several, each with the crack that a rule counts it on."""

import polars as pl

from analytics.contract.roles import RECORD_PAGE
from analytics.pages.page import Column, Table

TITLE = "Leak-backs placed by rule"
NOTE = "Open the job and say which crack it was, or name the crack in the callbacks file and load it again."


def table(placed: pl.DataFrame) -> Table:
    """The calls of ``unplaced_leak_backs``, each opening its job."""
    columns = (
        Column("job_id", "job", link=RECORD_PAGE),
        Column("callback_id", "call"),
        Column("reported_on", "reported"),
        Column("crack_id", "counted on crack"),
    )
    return Table(columns, placed, TITLE, NOTE, empty="Every leak-back names its crack.")

"""Taking the last load back where it came from files; one by hand is taken back under Write down."""

from pathlib import Path

import polars as pl

from analytics.answers import loading
from analytics.answers.last_entry import last_entry
from analytics.answers.records import Records
from analytics.contract import words
from analytics.pages import loaded
from analytics.pages.form import Form
from analytics.pages.page import Folded, Part

MOST_FILES = 3


def offered(records: Records) -> tuple[Part, ...]:
    """The form that takes the last load back; none where nothing is loaded, or somebody wrote something down since."""
    ledger = records.ask("load_ledger")
    if ledger.is_empty() or last_entry(records):
        return ()
    last = ledger.filter(pl.col("batch") == pl.col("batch").max())
    batch, path = last["batch"][0], records.store.path
    form = Form(
        f"undo-{batch}", "Take this load back", (), lambda _: _taken_back(path, batch), _said(last), needs="undo"
    )
    return (Folded("Take the last load back", (form,)),)


def _said(last: pl.DataFrame) -> str:
    """Which load it is: its files, its rows and when."""
    files = last["file"].unique(maintain_order=True).to_list()
    more = [words.counted(len(files) - MOST_FILES, "more file")] if len(files) > MOST_FILES else []
    rows = sum(last.unique("table_name")["loaded"].to_list())
    at = last["loaded_at"][0]
    named, when = words.listed([*files[:MOST_FILES], *more]), f"{words.full_day(at.date())} at {at:%H:%M}"
    return (
        f"Load {last['batch'][0]}, from {named}: {words.counted(rows, 'row')} went in on {when} "
        f"universal time. Once it is taken back, whatever they replaced is in force again."
    )


def _taken_back(path: Path, batch: int) -> str:
    return loaded.build_undone(loading.undo(path, only=batch)).answer

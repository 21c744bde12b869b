"""The records: what is loaded, what was rejected and why, and what the columns mean."""

import polars as pl

from analytics.answers.loading import rejects, warnings
from analytics.answers.records import Records
from analytics.answers.templates import data_dictionary
from analytics.contract import words
from analytics.contract.tables import TABLES
from analytics.pages import placed, rejected, warned
from analytics.pages.keeping import KEEP_THE_LAST_HASH, trail
from analytics.pages.page import Column, Folded, Page, Said, Section, Table, Words
from analytics.pages.shortened import first_rows

MOST_REJECTS = 200
MOST_ENTRIES = 50

WORKED_OUT = (
    "A row read is loaded, unchanged or rejected; none is lost. A row with a known key and other values replaces the "
    "old one, which is kept with its load. The day the records reach is the latest day quoted, done or reported: never "
    "a planned day, never today's date. Mend a rejected row in its file and load the file again; one that "
    "is in no file any more is taken off the list."
)


def build(records: Records, said: Said) -> Page:
    """Tables, rejected rows, loads and the dictionary of columns."""
    del said
    held = records.ask("records")
    faults = rejects(records)
    shown = first_rows(rejected.table(faults), MOST_REJECTS, "faulty cell")
    odd = first_rows(warned.table(warnings(records)), MOST_REJECTS, "odd cell")
    changes = first_rows(trail(records.ask("audit_trail")), MOST_ENTRIES, "entry", "entries")
    loads = records.ask("load_history")
    counts = dict(held.select("table_name", "row_count").iter_rows())
    rows = rejected.count(faults)
    state = f"{words.counted(rows, 'row waits', 'rows wait')} to be mended" if rows else "no row waits to be mended"
    reach = (
        f"Records to {words.full_day(records.as_of)}" if records.as_of else "Nothing is quoted, done or reported yet"
    )
    return Page(
        answer=f"{reach}: {words.counted(counts['jobs'], 'job')}, {words.counted(counts['cracks'], 'crack')} and "
        f"{words.counted(counts['callbacks'], 'callback')}; {state}.",
        parts=(
            _held(held),
            Section(
                "Rejected rows",
                (shown, *rejected.list_to_mend(records, faults), *rejected.off_the_list(records, shown.listed)),
            ),
            Section("Loaded, but odd", (odd,)),
            Section(placed.TITLE, (placed.table(records.ask("unplaced_leak_backs")),)),
            Section("Loads", (_loads(loads),)),
            Section("Audit trail", (changes, Words(KEEP_THE_LAST_HASH, "muted"))),
            Section("What the columns mean", tuple(map(_dictionary, TABLES))),
        ),
        worked_out=WORKED_OUT,
    )


def _held(held: pl.DataFrame) -> Table:
    shown = held.with_columns(pl.col("first_day", "last_day").map_elements(words.full_day, return_dtype=pl.String))
    columns = (
        Column("table_name", "table"),
        Column("row_count", "rows", kind="number"),
        Column("first_day", "from"),
        Column("last_day", "to"),
    )
    return Table(columns, shown, title="What is loaded")


def _loads(loads: pl.DataFrame) -> Table:
    columns = (
        Column("batch", "load", kind="number"),
        Column("loaded_at", "when"),
        Column("table_name", "table"),
        *(Column(key, key, kind="number") for key in ("read", "loaded", "unchanged", "rejected")),
    )
    shown = loads.with_columns(pl.col("loaded_at").dt.strftime("%Y-%m-%d %H:%M"))
    return Table(columns, shown, title="Loads", empty="Nothing was loaded yet.")


def _dictionary(table: str) -> Folded:
    rows = data_dictionary().filter(pl.col("table") == table)
    columns = (
        Column("column", "column", under="unit"),
        Column("kind", "kind"),
        Column("accepted", "accepted"),
        Column("needed", "needed"),
        Column("meaning", "meaning"),
    )
    title = f"Columns of {table}"
    return Folded(title, (Table(columns, rows, title=title),))

"""Load files on the screen: what would become of them first, before and after, then the button."""

from functools import partial
from pathlib import Path

import polars as pl

from analytics.answers import loading, mapping
from analytics.answers.demonstrating import INVENTED, take_out
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.batch import Batch
from analytics.contract.roles import LOAD_PAGE
from analytics.intake import READERS, ColumnMap, Source, named_sources, parse_map
from analytics.pages import loaded, mapped, rejected, taking_back
from analytics.pages.form import Form
from analytics.pages.page import Column, Page, Part, Said, Section, Table, Words
from analytics.pages.shortened import first_rows
from analytics.pages.upload import Files, Looked, Upload

PATH = LOAD_PAGE
TITLE = "Load files"
MOST_REJECTS = 50
REJECTS_ARE = " What was rejected, and why, stands on the Records page, to be mended."
WORKED_OUT = (
    "Files named after our tables (jobs, cracks, callbacks, rates, reviews), or whose sheets are, and whose headers "
    "are our columns, go in as they are. For any other a column map is proposed from its headers and values: read it "
    "through, mend it, look again. Every row is then checked as it would be on the command line, and nothing is "
    "written before the button is pressed. Columns that are not ours are dropped and never kept; sites and people's "
    "names are replaced by codes; the files themselves stay in memory and are written nowhere. A list of rejected "
    "rows with its column mended filled in is taken too."
)


def build(records: Records, said: Said) -> Page:
    """A place to bring files to."""
    del said
    if records.store.meta(INVENTED):
        return Page("These are the invented business's records: your own go into a store without them.", _ways(records))
    answer = "Bring your files: nothing goes in before you have seen what becomes of it."
    return Page(answer, (upload(records), *taking_back.offered(records)), worked_out=WORKED_OUT)


def _ways(records: Records) -> tuple[Part, ...]:
    """How to get from the invented business to one's own records."""
    path = records.store.path
    empty = Form("take-out", "Take the invented business out", (), lambda _: _taken_out(path))
    return (
        Words(
            "Take the invented business out of this store, or leave it and begin another with: "
            "leakback dashboard --store NAME.duckdb"
        ),
        empty,
    )


def _taken_out(path: Path) -> str:
    take_out(path)
    return "The invented business is taken out; nothing is loaded now."


def upload(records: Records) -> Upload:
    """The place itself, with what is done with the files."""
    path = records.store.path
    return Upload(
        "bring",
        "Your files: CSV, XLSX or Parquet",
        tuple(sorted(READERS)),
        "Mend the column map",
        "Load these rows",
        partial(look, path),
        partial(approve, path),
        needs="load",
    )


def look(path: Path, files: Files, text: str) -> Looked:
    """What would become of files, read in our own words or by a column map."""
    sources = named_sources(files)
    plain = None if text else mapping.in_our_words(sources)
    if plain is not None:
        return Looked((*_would_go(path, sources, None), *mapped.first_rows(plain)), ready=True)
    proposed = mapping.propose_sources(sources, text)
    shown: tuple[Part, ...] = tuple(Words(line) for line in mapped.to_do(proposed))
    if proposed.guesses.is_empty() and not text:
        return Looked((Words(mapped.NOTHING),), proposed.text)
    guesses = (Section("How their columns become ours", mapped.guessed(proposed)),) if not text else ()
    if proposed.fault:
        return Looked((*shown, *guesses), proposed.text)
    would = _would_go(path, sources, parse_map(proposed.text))
    return Looked((*would, *guesses, *mapped.first_rows(proposed.preview)), proposed.text, ready=True)


def approve(path: Path, files: Files, text: str) -> str:
    """Load the files; the sentence to show."""
    column_map = parse_map(text) if text else None
    done = loading.load_sources(path, named_sources(files), column_map=column_map)
    waits = any(count.rejected for count in done.tables.values())
    return f"{loaded.build(done).answer}{REJECTS_ARE if waits else ''}"


def _would_go(path: Path, sources: list[Source], column_map: ColumnMap | None) -> tuple[Part, ...]:
    """How many rows would go in and how many be rejected, and why."""
    batch = loading.tried(path, sources, column_map=column_map)
    sound, faulty = _sums(batch)
    state = "none would be rejected" if not faulty else f"{words.number(faulty)} would be rejected"
    parts: list[Part] = [
        Words(f"{words.counted(sound, 'row')} would go in, or are in already; {state}.", "strong"),
        _counts(batch),
    ]
    if faulty:
        why = first_rows(rejected.table(batch.rejects), MOST_REJECTS, "faulty cell")
        parts.append(Section("Would be rejected", (why,)))
    if batch.dropped_columns:
        parts.append(Words(f"Left out, and never kept: {', '.join(batch.dropped_columns)}."))
    return tuple(parts)


def _sums(batch: Batch) -> tuple[int, int]:
    faulty = sum(table.rejected for table in batch.tables.values())
    return sum(table.read for table in batch.tables.values()) - faulty, faulty


def _counts(batch: Batch) -> Table:
    rows = [
        {"table": name, "read": table.read, "sound": table.read - table.rejected, "rejected": table.rejected}
        for name, table in batch.tables.items()
    ]
    columns = (
        Column("table", "table"),
        *(Column(key, label, kind="number") for key, label in COUNTS.items()),
    )
    return Table(columns, pl.DataFrame(rows), title="What would go in")


COUNTS = {"read": "rows read", "sound": "would go in", "rejected": "would be rejected"}

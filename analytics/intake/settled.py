"""A rejected row that a work list has mended since, read again from its file as it was: it waits no more."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import polars as pl

from analytics.contract.batch import Batch, CheckedTable
from analytics.intake.checking import PLACE

Faults = frozenset[tuple[str, str | None]]


def without_mended(batch: Batch, mended_cells: Callable[[], pl.DataFrame]) -> Batch:
    """The batch with such rows counted as repeated.

    Only where no cell of the row has changed: its sound ones, and each faulty one, which must have been kept to tell.

    Args:
        batch: as checked.
        mended_cells: the store's rejected cells of rows mended since: batch, table, file, row, sound, column, cell.
    """
    if batch.rejects.is_empty():
        return batch
    known = mended_cells()
    tables = {}
    for name, table in batch.tables.items():
        before = known.filter(pl.col("table") == name)
        tables[name] = table if before.is_empty() or table.rejects.is_empty() else _without(table, before)
    return replace(batch, tables=tables)


def _without(table: CheckedTable, before: pl.DataFrame) -> CheckedTable:
    now = table.rejects.join(table.waiting.select(*PLACE, "sound"), on=PLACE, how="left", maintain_order="left")
    now = now.join(before, on="sound", how="semi", maintain_order="left")  # of many rows, few are looked at one by one
    before = before.join(now, on="sound", how="semi", maintain_order="left")
    settled = {(sound, faults) for _, sound, faults in _rows(before, ("batch", *PLACE))}
    again = [place for place, sound, faults in _rows(now, PLACE) if (sound, faults) in settled]
    places = pl.DataFrame(again, schema={name: table.rejects.schema[name] for name in PLACE}, orient="row")
    rejects, waiting = (
        part.join(places, on=PLACE, how="anti", maintain_order="left") for part in (table.rejects, table.waiting)
    )
    return replace(table, rejects=rejects, waiting=waiting, repeated=table.repeated + len(again))


def _rows(faults: pl.DataFrame, keys: Sequence[str]) -> Iterator[tuple[tuple[object, ...], str, Faults]]:
    """Each rejected row that was kept whole: what it is known by, its sound cells, its faulty ones."""
    for row, cells in faults.partition_by(keys, as_dict=True, maintain_order=True).items():
        sound = cells["sound"][0]
        if sound is not None and not cells["cell"].null_count():
            yield row, sound, frozenset(cells.select("column", "cell").iter_rows())

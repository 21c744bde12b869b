"""How much a file may ask of this computer before it is refused."""

import polars as pl

from analytics.errors import UnreadableFileError

MOST_FILE_BYTES = 256 * 2**20
"""A million rows of twenty columns is under half of this."""
MOST_UPLOAD_MB = 64
"""Of files brought through the browser, all of them together: they lie in memory."""
MOST_UNPACKED_BYTES = 2**30
RATIO_COUNTS_FROM_BYTES, MOST_RATIO = 2**24, 200
"""A spreadsheet's text shrinks 5 to 50 times; one that grows more than this, past 16 MB, was made to fill a memory."""
MOST_PARTS = 4096
MOST_CELLS = 20_000_000
MOST_ROWS = 5_000_000
MOST_COLUMNS = 2_000
MOST_MERGED_CELLS = 1_000_000
HEAD_ROWS = 40
"""How far down the header is looked for."""


def size_words(count: int) -> str:
    """A number of bytes in words: ``12 MB``."""
    return f"{count / 2**20:,.0f} MB"


def refuse_heavy(cells: pl.DataFrame, file: str) -> None:
    """UnreadableFileError where the texts weigh more than is held: one long text may stand in every cell of a file."""
    weight = sum(cells.select(pl.col(pl.String).str.len_bytes().cast(pl.Int64).sum()).row(0)) if cells.height else 0
    if weight > MOST_UNPACKED_BYTES:
        raise UnreadableFileError(f"{file}: its cells hold {size_words(weight)} of text; split the file")

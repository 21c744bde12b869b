"""A column map proposed for a business's files, and what it would make of their first rows. Nothing is loaded."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from analytics.contract.rows import Rows
from analytics.errors import LeakbackError, UnknownNameError, UnreadableFileError
from analytics.intake import WORK_LIST, ColumnMap, Source, open_sources, parse_map, read_source, read_sources
from analytics.intake.maps.previewing import PREVIEW, first_rows
from analytics.intake.maps.proposing import SheetProposal, numbered_alike, ordered_alike, propose
from analytics.intake.maps.writing import map_text, origin_text
from analytics.intake.naming import KNOWN

PREVIEW_ROWS = 2
GUESSES = dict.fromkeys(("sheet", "table", "column", "origin", "confidence", "reason", "saw"), pl.String) | {
    "confidence": pl.Float64
}
"""The columns of ``Proposed.guesses``."""


@dataclass(frozen=True)
class Proposed:
    """What files seem to hold: a proposal a sheet, the map's text, and its first rows before and after.

    ``fault`` says why the map cannot be used as it stands; the preview is then empty.
    """

    files: tuple[str, ...]
    proposals: tuple[SheetProposal, ...]
    text: str
    preview: pl.DataFrame
    fault: str = ""

    @property
    def guesses(self) -> pl.DataFrame:
        """One row a guess, as ``GUESSES``."""
        rows = [
            {
                "sheet": proposal.name,
                "table": guess.table,
                "column": guess.column,
                "origin": origin_text(guess.origin),
                "confidence": guess.confidence,
                "reason": guess.reason,
                "saw": ", ".join(guess.saw),
            }
            for proposal in self.proposals
            for guess in proposal.guesses
        ]
        return pl.DataFrame(rows, schema=GUESSES)

    @property
    def left(self) -> list[str]:
        """Headers that would be dropped, of sheets that hold rows."""
        held = (proposal for proposal in self.proposals if proposal.has_rows)
        return list(dict.fromkeys(header for proposal in held for header in proposal.left))

    @property
    def missing(self) -> list[str]:
        """Columns that must be there and were not found, of sheets that hold rows."""
        return [name for proposal in self.proposals if proposal.has_rows for name in proposal.missing]

    def answer(self) -> dict[str, object]:
        """The guesses, what is left out, what is missing, and the map itself."""
        return {
            "rows": Rows.of(self.guesses),
            "fill_down": {proposal.name: list(proposal.fill_down) for proposal in self.proposals if proposal.fill_down},
            "left": self.left,
            "missing": self.missing,
            "fault": self.fault,
            "map": self.text,
        }


def propose_files(paths: Iterable[Path]) -> Proposed:
    """A map for files and folders."""
    return propose_sources(open_sources(paths))


def propose_sources(sources: Iterable[Source], text: str = "") -> Proposed:
    """A map for files already opened; UnreadableFileError where one cannot be read.

    ``text`` is the map as somebody has mended it; without it, it is the one proposed.
    """
    sources = list(sources)
    files = [source.file for source in sources]
    sheets = [sheet for source in sources for sheet in read_source(source, KNOWN)]
    proposals = tuple(ordered_alike(numbered_alike([propose(sheet) for sheet in sheets])))
    text = text or map_text(proposals)
    seen, fault = _previewed(sources, text)
    held = zip(sheets, proposals, strict=True)
    empty = [sheet.file for sheet, proposal in held if proposal.tables and not sheet.cells.height]
    if fault and empty:
        fault = f"{empty[0]} holds column names and no rows, so nothing tells how they are written; add rows to it"
    return Proposed(tuple(files), proposals, text, seen, fault)


def in_our_words(sources: Sequence[Source]) -> pl.DataFrame | None:
    """The first rows of files that need no map, before and after; None where they need one."""
    try:
        return _first_rows(sources, None)
    except (UnknownNameError, UnreadableFileError):
        return None


def _previewed(sources: Sequence[Source], text: str) -> tuple[pl.DataFrame, str]:
    """The first rows as a load with the map would read them, or why it could not."""
    try:
        return _first_rows(sources, parse_map(text)), ""
    except LeakbackError as error:
        return pl.DataFrame(schema=PREVIEW), str(error)


def _first_rows(sources: Sequence[Source], column_map: ColumnMap | None) -> pl.DataFrame:
    """A work list of rejected rows has no rows to show."""
    sheets = read_sources(sources, column_map)
    return first_rows((sheet for sheet in sheets if sheet.table != WORK_LIST), PREVIEW_ROWS)


def write_map(path: Path, text: str) -> None:
    """Write a map's text; LeakbackError where something lies at that path already."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise LeakbackError(f"{path} is there already; nothing is overwritten, choose another name") from error
    except OSError as error:
        raise LeakbackError(f"{path}: cannot be written ({error.strerror})") from error

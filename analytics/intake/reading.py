"""Files to sheets of text: every cell as it was written, nothing inferred. What a file is, its first bytes say."""

from collections.abc import Collection

from analytics.errors import UnreadableFileError
from analytics.intake.columnar import read_columnar
from analytics.intake.delimited import read_delimited
from analytics.intake.sheet import Sheet
from analytics.intake.sources import READERS, Source
from analytics.intake.workbook import read_workbook

ZIP, PARQUET, OLD_WORKBOOK = b"PK\x03\x04", b"PAR1", b"\xd0\xcf\x11\xe0"
MARKUP = (b"<!doctype", b"<html", b"<table", b"<?xml")


def read_source(source: Source, known: Collection[str]) -> list[Sheet]:
    """The sheets of one file.

    Args:
        source: the file.
        known: names of columns by which a header is recognised, plainly written.

    Raises:
        UnreadableFileError: where it cannot be read as a table; one sentence that says what to do.
    """
    ending = "." + source.file.rpartition(".")[2].lower()
    if ending not in READERS:
        kinds = ", ".join(sorted(READERS))
        raise UnreadableFileError(f"{source.file}: only {kinds} files are read; save the sheet as CSV and load that")
    start = source.content[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if source.content.startswith(ZIP):
        return read_workbook(source, known)
    if source.content.startswith(PARQUET):
        return [read_columnar(source, known)]
    if source.content.startswith(OLD_WORKBOOK):
        raise UnreadableFileError(
            f"{source.file}: an old workbook, or one locked with a password; save it as .xlsx without a password"
        )
    if start.startswith(MARKUP):
        raise UnreadableFileError(f"{source.file}: a web page, not a table; save it as CSV or .xlsx")
    if ending in {".xlsx", ".xlsm", ".parquet"} and b"\x00" in source.content[:4096]:
        raise UnreadableFileError(f"{source.file}: damaged or not a {ending} file; save it again")
    return [read_delimited(source, known)]

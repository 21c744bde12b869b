"""Unpacking a workbook under limits. What is handed on is what was unpacked and measured, nothing else of the file."""

import io
import zipfile
import zlib
from collections.abc import Mapping

from analytics.errors import UnreadableFileError
from analytics.intake.limits import (
    MOST_PARTS,
    MOST_RATIO,
    MOST_UNPACKED_BYTES,
    RATIO_COUNTS_FROM_BYTES,
    size_words,
)

ENDINGS = (".xml", ".rels")
UNREAD = ("docprops/", "customxml/", "xl/drawings", "xl/charts", "xl/theme", "xl/media", "xl/pivot", "xl/comments")
FORBIDDEN = (b"<!DOCTYPE", b"<!ENTITY")
"""A workbook's parts never declare a document type; one that does means to grow or to read other files."""
STEP = 2**20


def unpack(content: bytes, file: str) -> dict[str, bytes]:
    """The parts of a workbook that hold cells, by name; UnreadableFileError for one that is damaged or a bomb."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            wanted = {info.filename: info for info in archive.infolist() if _is_read(info.filename)}
            _refuse_bombs(archive.infolist(), file)
            left, parts = MOST_UNPACKED_BYTES, {}
            for name, info in wanted.items():
                parts[name.replace("\\", "/")] = _inflate(archive, info, left, file)
                left -= info.file_size
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError) as error:
        raise UnreadableFileError(f"{file}: damaged, or locked with a password; save the workbook again") from error
    if any(mark in part for part in parts.values() for mark in FORBIDDEN):
        raise UnreadableFileError(f"{file}: holds a document type, which no workbook needs; it is not read")
    return parts


def pack(parts: Mapping[str, bytes]) -> bytes:
    """The parts as a workbook again, unpacked."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_STORED) as archive:
        for name, part in parts.items():
            archive.writestr(zipfile.ZipInfo(name), part)
    return whole.getvalue()


def _is_read(name: str) -> bool:
    small = name.lower()
    return small.endswith(ENDINGS) and not small.startswith(UNREAD)


def _refuse_bombs(parts: list[zipfile.ZipInfo], file: str) -> None:
    total = sum(part.file_size for part in parts)
    if total > MOST_UNPACKED_BYTES or len(parts) > MOST_PARTS:
        raise UnreadableFileError(
            f"{file}: unpacks to {size_words(total)} in {len(parts)} parts; at most "
            f"{size_words(MOST_UNPACKED_BYTES)} are read, split the workbook"
        )
    for part in parts:
        if part.file_size > RATIO_COUNTS_FROM_BYTES and part.file_size > MOST_RATIO * max(1, part.compress_size):
            raise UnreadableFileError(f"{file}: unpacks to {MOST_RATIO} times its size; it is not read")


def _inflate(archive: zipfile.ZipFile, info: zipfile.ZipInfo, left: int, file: str) -> bytes:
    """One part's bytes, stopped at the limit whatever the archive says of its size."""
    whole = bytearray()
    with archive.open(info) as part:
        while piece := part.read(STEP):
            whole += piece
            if len(whole) > left:
                raise UnreadableFileError(f"{file}: unpacks to more than {size_words(MOST_UNPACKED_BYTES)}")
    return bytes(whole)

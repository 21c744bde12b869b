"""What a workbook's own text says that its values do not: far cells, merged cells, formulas never worked out."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from html import unescape
from itertools import islice
from posixpath import join, normpath

from analytics.errors import UnreadableFileError
from analytics.intake.limits import MOST_CELLS, MOST_MERGED_CELLS, MOST_UNPACKED_BYTES, size_words

REFERENCE = re.compile(rb"""\sr=["']([A-Za-z]*)(\d{1,9})["']""")
FAR_ROW, FAR_COLUMN = re.compile(rb"""\sr=["'][A-Za-z]*\d{6,}["']"""), re.compile(rb"""\sr=["'][A-Za-z]{2,}\d""")
ALWAYS_HELD, SPARSE = 2_600_000, 50
"""A sheet of 99,999 rows and 26 columns is held unseen; a larger one only where enough of it is filled."""
MERGED = re.compile(rb"""<(?:\w+:)?mergeCell\s[^>]*?ref=["']([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})["']""")
NEVER_WORKED_OUT = re.compile(
    rb"""<(?:\w+:)?c\s([^>]*)>\s*<(?:\w+:)?f\b[^>]*(?:/>|>[^<]*</(?:\w+:)?f>)\s*</(?:\w+:)?c>"""
)
SHEET, RELATION = re.compile(rb"<(?:\w+:)?sheet\s[^>]*>"), re.compile(rb"<(?:\w+:)?Relationship\s[^>]*>")
FROM_1904 = re.compile(rb"""<(?:\w+:)?workbookPr\s[^>]*date1904=["'](?:1|true)["']""")
DAYS_TO_1904 = 1462
STRING_ITEM = re.compile(rb"<(?:\w+:)?si[\s>]")
STRING_CELL = re.compile(rb"""<(?:\w+:)?c\s[^>]*\bt=["']s["'][^>]*>\s*<(?:\w+:)?v>(\d+)<""")
Place = tuple[int, int]


@dataclass(frozen=True)
class Markings:
    """Places are (row, column) from 0. ``merged`` are first and last places; ``unworked`` formulas without a value."""

    merged: tuple[tuple[Place, Place], ...] = ()
    unworked: frozenset[Place] = frozenset()


def markings(part: bytes, file: str) -> Markings:
    """The markings of one sheet; UnreadableFileError where its cells lie too far apart to be held."""
    _refuse_far_cells(part, file)
    merged, area = [], 0
    for left, top, right, bottom in MERGED.findall(part):
        first, last = place(left, top), place(right, bottom)
        area += max(0, last[0] - first[0] + 1) * max(0, last[1] - first[1] + 1)
        if area > MOST_MERGED_CELLS:
            raise UnreadableFileError(f"{file}: more than {MOST_MERGED_CELLS:,} merged cells; unmerge them")
        merged.append((first, last))
    unworked = (REFERENCE.search(b" " + found[1]) for found in NEVER_WORKED_OUT.finditer(part)) if b"f" in part else ()
    return Markings(tuple(merged), frozenset(place(one[1], one[2]) for one in unworked if one))


def _refuse_far_cells(part: bytes, file: str) -> None:
    """A reader holds every cell between the first and the last, so one stray cell far out would fill the memory."""
    if not FAR_ROW.search(part) and not FAR_COLUMN.search(part):
        return
    rows = max(int(digits) for digits in {found[2] for found in REFERENCE.finditer(part)})
    columns = 1 + max(place(letters, b"1")[1] for letters in {found[1] for found in REFERENCE.finditer(part)})
    most = min(MOST_CELLS, max(ALWAYS_HELD, SPARSE * part.count(b"<")))
    if rows * columns > most:
        raise UnreadableFileError(
            f"{file}: its cells reach row {rows:,} and column {columns:,}; delete the stray cells far out, or split it"
        )


def refuse_heavy_strings(parts: Mapping[str, bytes], file: str) -> None:
    """A workbook keeps each text once; UnreadableFileError where its cells repeat them to more than is held."""
    shared = next((part for name, part in parts.items() if name.lower().endswith("sharedstrings.xml")), b"")
    lengths = [len(item) for item in STRING_ITEM.split(shared)[1:]]
    cells = [part for name, part in parts.items() if "sheet" in name.lower() and part is not shared]
    if max(lengths, default=0) * sum(part.count(b"<") for part in cells) <= MOST_UNPACKED_BYTES:
        return
    uses = Counter(int(found[1]) for part in cells for found in STRING_CELL.finditer(part))
    weight = sum(count * lengths[i] for i, count in uses.items() if i < len(lengths))
    if weight > MOST_UNPACKED_BYTES:
        raise UnreadableFileError(f"{file}: its cells hold {size_words(weight)} of text; split the workbook")


def place(letters: bytes, digits: bytes) -> Place:
    """``C12`` as (row, column) from 0; a row alone stands in the first column."""
    column = 0
    for letter in letters.upper():
        column = column * 26 + letter - 64
    return int(digits) - 1, max(0, column - 1)


def sheet_parts(parts: Mapping[str, bytes]) -> dict[str, bytes]:
    """The text of each sheet, by the sheet's name, as the workbook's own list says."""
    book = next((name for name in parts if name.lower().endswith("xl/workbook.xml")), "")
    folder, _, name = book.rpartition("/")
    relations = parts.get(f"{folder}/_rels/{name}.rels", b"")
    targets = {_attribute(tag, b"Id"): _attribute(tag, b"Target") for tag in RELATION.findall(relations)}
    found = {}
    for tag in islice(SHEET.finditer(parts.get(book, b"")), len(parts) + 1):
        target = targets.get(_attribute(tag[0], rb"\w*:?id"), "")
        path = target.lstrip("/") if target.startswith("/") else normpath(join(folder, target))
        found[unescape(_attribute(tag[0], b"name"))] = parts.get(path, b"")
    return found


def day_zero(parts: Mapping[str, bytes]) -> int:
    """Days to add to a workbook's day numbers to count from 1899-12-30."""
    book = next((part for name, part in parts.items() if name.lower().endswith("xl/workbook.xml")), b"")
    return DAYS_TO_1904 if FROM_1904.search(book) else 0


def _attribute(tag: bytes, name: bytes) -> str:
    found = re.search(rb"\s" + name + rb"""=["']([^"']*)["']""", tag)
    return found[1].decode("utf-8", errors="replace") if found else ""

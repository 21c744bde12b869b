"""How a text file is written: its encoding and the mark between its cells. Settled by trying, never by chance."""

import csv
import re
from collections import Counter
from itertools import islice

from analytics.errors import UnreadableFileError
from analytics.intake.limits import HEAD_ROWS

DELIMITERS = ",;\t"
SAMPLE_RECORDS = 60
SAMPLE_LETTERS = 200_000
UTF8_MARK, UTF16_MARKS = b"\xef\xbb\xbf", (b"\xff\xfe", b"\xfe\xff")
MOSTLY, SELDOM = 0.8, 0.02
UTF32_MARKS = (b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")
SEPARATOR_LINE = re.compile(r'^"?sep=([,;\t])"?\r?\n', re.IGNORECASE)
"""A first line by which a spreadsheet program is told the mark."""


def decode(content: bytes, file: str) -> str:
    """Text of a file: UTF-16 by its mark or its noughts, else UTF-8 with or without a mark, else Windows-1252."""
    marked = content.startswith(UTF16_MARKS) and not content.startswith(UTF32_MARKS)
    if order := "utf-16" if marked else _utf_16_order(content):
        try:
            return content.decode(order)
        except UnicodeDecodeError as error:
            raise UnreadableFileError(f"{file}: begins as UTF-16 and does not go on so; save it as UTF-8") from error
    if content.startswith(UTF8_MARK):
        return content.decode("utf-8-sig", errors="replace")
    if b"\x00" in content:
        raise UnreadableFileError(f"{file}: this is not a text file; save it as CSV (UTF-8)")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _utf_16_order(content: bytes) -> str | None:
    """Which UTF-16 a file without a mark begins as, if any: one of each two bytes is mostly 0, the other seldom."""
    pairs = content[: 2 * (min(len(content), SAMPLE_LETTERS) // 2)]
    zeros = {"utf-16-be": pairs[::2].count(0), "utf-16-le": pairs[1::2].count(0)}
    order = max(zeros, key=lambda name: zeros[name])
    return order if zeros[order] > MOSTLY * len(pairs) / 2 and min(zeros.values()) <= SELDOM * len(pairs) / 2 else None


def clean_beginning(content: bytes) -> str | None:
    """The first lines of a file, enough to settle its mark and header, where the rest may be read as it lies.

    So it is without quotation marks and with plain line ends, if what is ASCII there, the same in any encoding, is all
    that settles them. Whether the rest is UTF-8 is for the reader to see. None where the file is to be decoded first.
    """
    if any(sign in content for sign in (b'"', b"\r", b"\x00")):
        return None
    is_whole = len(content) <= SAMPLE_LETTERS
    beginning = content if is_whole else content[: content.rfind(b"\n", 0, SAMPLE_LETTERS) + 1]
    if not beginning.isascii() or not (is_whole or beginning.count(b"\n") >= max(SAMPLE_RECORDS, HEAD_ROWS)):
        return None
    text = beginning.decode("ascii")
    return None if SEPARATOR_LINE.match(text) else text


def split_mark(text: str) -> tuple[str, str]:
    """The mark between the cells, and the text with a line that only names the mark left blank."""
    if named := SEPARATOR_LINE.match(text):
        return named[1], "\n" + text[named.end() :]
    return max(DELIMITERS, key=lambda mark: _evenness(text, mark)), text


def _evenness(text: str, mark: str) -> tuple[int, int]:
    """How many rows have the commonest width over one; then the width."""
    lines = text[:SAMPLE_LETTERS].splitlines(keepends=True)
    try:
        records = csv.reader((line for line in lines if line.strip()), delimiter=mark)
        widths = Counter(len(cells) for cells in islice(records, SAMPLE_RECORDS))
    except csv.Error:
        return 0, 0
    return max(((count, width) for width, count in widths.items() if width > 1), default=(0, 0))

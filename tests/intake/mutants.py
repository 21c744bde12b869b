"""Valid files with their bytes changed, and workbooks with a part of them changed, by seed."""

import io
import zipfile
from datetime import date
from functools import cache
from random import Random

import polars as pl

from tests.intake.brought import Rows, csv_bytes, parquet_bytes, workbook
from tests.intake.case import HEAD

ROWS: Rows = [HEAD, *([f"J-{n}", f"C{n % 5}", "done", date(2024, 1, 1 + n % 28), n * 1.5] for n in range(1, 60))]
CODECS = ("uncompressed", "zstd", "snappy", "gzip", "lz4")
SIGNS = b"<>/\"'=0123456789AZ rctsv,;\t\n\r\x00\xff"


@cache
def sound() -> dict[str, tuple[bytes, ...]]:
    """Sound files, by their name."""
    frame = pl.DataFrame([list(row) for row in ROWS[1:]], schema=[str(name) for name in HEAD], orient="row")
    quoted = csv_bytes([[*HEAD, "notes"], *([*row, 'said "no",\nthen yes'] for row in ROWS[1:])])
    return {
        "jobs.csv": (csv_bytes(ROWS), csv_bytes(ROWS, ";", "utf-8-sig"), csv_bytes(ROWS, "\t", "utf-16"), quoted),
        "jobs.xlsx": (workbook(jobs=ROWS), workbook(jobs=ROWS, rates=[["effective_on", "item", "amount", "currency"]])),
        "jobs.parquet": tuple(parquet_bytes(frame, compression=codec) for codec in CODECS),
    }


def mutant(seed: int) -> tuple[str, bytes]:
    """A file's name and its changed bytes."""
    random = Random(seed)  # noqa: S311 - a seed for tests
    name = random.choice(sorted(sound()))
    content = random.choice(sound()[name])
    if name.endswith(".xlsx") and random.random() < 0.8:
        return name, _with_a_changed_part(random, content)
    return name, _changed(random, content)


def _with_a_changed_part(random: Random, content: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        parts = {part: book.read(part) for part in book.namelist()}
    part = random.choice(sorted(name for name in parts if name.startswith(("xl/w", "xl/s", "xl/_"))))
    parts[part] = _changed(random, parts[part])
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as book:
        for name, changed in parts.items():
            book.writestr(name, changed)
    return whole.getvalue()


def _changed(random: Random, content: bytes) -> bytes:
    """One to sixteen bits turned, bytes replaced, cut out, put in or copied elsewhere."""
    text = bytearray(content)
    for _ in range(random.choice([1, 1, 2, 4, 16])):
        at, kind = random.randrange(len(text)), random.randrange(5)
        if kind == 0:
            text[at] ^= 1 << random.randrange(8)
        elif kind == 1:
            text[at] = random.choice(SIGNS)
        elif kind == 2:
            del text[at : at + random.randrange(1, 40)]
        elif kind == 3:
            text[at:at] = bytes(random.choice(SIGNS) for _ in range(random.randrange(1, 20)))
        else:
            other = random.randrange(len(text))
            text[at : at + 8] = text[other : other + 8]
        text = text or bytearray(b"x")
    return bytes(text[: random.randrange(1, len(text) + 1)] if random.random() < 0.05 else text)

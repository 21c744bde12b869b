"""The files given: where they lie, what they are called in every message, and their bytes."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from analytics.errors import UnreadableFileError
from analytics.intake.limits import MOST_FILE_BYTES, size_words

READERS = {".csv", ".tsv", ".xlsx", ".xlsm", ".parquet"}


@dataclass(frozen=True)
class Source:
    """One file's bytes. ``file`` is its name, with as many of its folders as tell it from the others of a load."""

    file: str
    content: bytes

    @property
    def stem(self) -> str:
        """The name without folder and ending."""
        return Path(self.file).stem

    @property
    def sha256(self) -> str:
        """The hash of the bytes."""
        return hashlib.sha256(self.content).hexdigest()


def named_sources(files: Iterable[tuple[str, bytes]]) -> list[Source]:
    """Files handed over by name and content, the second of a name told from the first."""
    seen: Counter[str] = Counter()
    found = []
    for name, content in files:
        seen[name] += 1
        found.append(Source(name if seen[name] == 1 else f"{seen[name]}/{name}", content))
    return found


def find_files(paths: Iterable[Path]) -> list[Path]:
    """The files given, and those in the folders given, in order of name, each once."""
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(entry for entry in path.iterdir() if _is_ours(entry))
            if not inside:
                raise UnreadableFileError(f"{path}: no {', '.join(sorted(READERS))} file in this folder")
            found += inside
        elif path.is_file():
            found.append(path)
        else:
            raise UnreadableFileError(f"{path}: no such file or folder")
    return list({path.resolve(): path for path in reversed(found)}.values())[::-1]


def _is_ours(entry: Path) -> bool:
    """A table's file, and not the hidden one that a spreadsheet program or a disk leaves beside it."""
    return entry.suffix.lower() in READERS and not entry.name.startswith((".", "~$")) and entry.is_file()


def open_sources(paths: Iterable[Path]) -> list[Source]:
    """Every file of the given files and folders; UnreadableFileError where one cannot be read or is too large."""
    files = find_files(paths)
    return [Source(label, _content(path)) for path, label in zip(files, labels(files), strict=True)]


def labels(paths: Sequence[Path]) -> list[str]:
    """The shortest ends of the paths that tell them apart: ``jobs.csv``, or ``north/jobs.csv``."""
    whole = [path.resolve().parts for path in paths]
    found = []
    for parts in whole:
        depth = 1
        while sum(other[-depth:] == parts[-depth:] for other in whole) > 1:
            depth += 1
        found.append("/".join(parts[-depth:]))
    return found


def _content(path: Path) -> bytes:
    try:
        if (size := path.stat().st_size) > MOST_FILE_BYTES:
            limit = size_words(MOST_FILE_BYTES)
            raise UnreadableFileError(f"{path.name}: {size_words(size)} is more than {limit}; split the file by year")
        return path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(f"{path}: cannot be read ({error.strerror})") from error

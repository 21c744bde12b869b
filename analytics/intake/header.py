"""Finding the row that names the columns, below titles and above the rows."""

from collections import Counter
from collections.abc import Collection, Sequence

from analytics.errors import UnreadableFileError
from analytics.intake.sheet import plain

FEWEST_KNOWN = 2
WIDE_ENOUGH = 0.5
Head = Sequence[Sequence[str]]
"""The first rows of a file, as written."""


def find_header(head: Head, known: Collection[str], file: str) -> int:
    """Where in ``head`` the header stands: the first row with most known names, else the first that is wide enough.

    Args:
        head: the first rows, as written.
        known: names of columns, plainly written.
        file: for messages.
    """
    filled = [{plain(cell) for cell in row} - {""} for row in head]
    if not any(filled):
        raise UnreadableFileError(f"{file}: empty; the first row must hold the column names")
    hits = [len(cells & set(known)) for cells in filled]
    widest = max(map(len, filled))
    if max(hits) >= FEWEST_KNOWN:
        at = hits.index(max(hits))
    else:
        at = next(i for i, cells in enumerate(filled) if len(cells) >= max(1, WIDE_ENOUGH * widest))
    above = next((i for i in range(at) if len(filled[i]) > max(2, WIDE_ENOUGH * len(filled[at]))), None)
    if above is not None:
        raise UnreadableFileError(
            f"{file}: row {at + 1} looks like the column names, but row {above + 1} above it holds cells too; "
            "delete what stands above the names"
        )
    return at


def name_columns(head: Head, at: int, known: Collection[str], file: str) -> list[str]:
    """The names in row ``at``, each once.

    A name that is there twice takes the heading above it in front, or a number behind; UnreadableFileError where it
    is one we look for and nothing tells the two apart.
    """
    names = [" ".join(cell.split()) or f"column {i + 1}" for i, cell in enumerate(head[at])]
    counts = Counter(map(plain, names))
    above = head[at - 1] if at else []
    for i, name in enumerate(names):
        if counts[plain(name)] > 1 and i < len(above) and above[i].strip():
            names[i] = f"{' '.join(above[i].split())} {name}"
    taken = set(map(plain, names))
    seen: set[str] = set()
    for i, name in enumerate(names):
        if plain(name) in seen:
            numbered = next(f"{name} ({n})" for n in range(2, len(names) + 2) if plain(f"{name} ({n})") not in taken)
            if plain(name) in known and plain(numbered) not in known:
                raise UnreadableFileError(f"{file}: the column {name} is there twice; rename or remove one")
            names[i] = numbered
            taken.add(plain(numbered))
        seen.add(plain(names[i]))
    return names

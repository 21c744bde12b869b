"""Finding the row that names the columns, below titles and above the rows."""

from collections import Counter
from collections.abc import Collection, Sequence

from analytics.errors import UnreadableFileError
from analytics.intake.sheet import plain

FEWEST_KNOWN = 2
FEWEST_GROUPS = 2
WIDE_ENOUGH = 0.5
NUMBERING = frozenset({"no", "number", "num", "id", "ref", "code"})
"""Words that say which one something is, never what."""
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
        at += at + 1 < len(head) and _are_headings(head[at], head[at + 1]) and _are_names(head, at + 1)
    first = at - (at > 0 and _are_headings(head[at - 1], head[at]))
    above = next((i for i in range(first) if len(filled[i]) > max(2, WIDE_ENOUGH * len(filled[at]))), None)
    if above is not None:
        raise UnreadableFileError(
            f"{file}: row {at + 1} looks like the column names, but row {above + 1} above it holds cells too; "
            "delete what stands above the names"
        )
    return at


def name_columns(head: Head, at: int, known: Collection[str], file: str) -> list[str]:
    """The names in row ``at``, each once.

    A name that is there twice, or says no more than that it is a number, takes the heading above it in front. What is
    still there twice takes a number behind; UnreadableFileError where it is one we look for.
    """
    own = [" ".join(cell.split()) for cell in head[at]]
    above = [" ".join(cell.split()) for cell in head[at - 1]] if at else []
    are_headings = bool(above) and _are_headings(above, own)
    groups = _to_the_right(above) if are_headings else above
    names = [name or (are_headings and _at(above, i)) or f"column {i + 1}" for i, name in enumerate(own)]
    counts = Counter(map(plain, names))
    for i, name in enumerate(names):
        bare = are_headings and plain(name).strip(".#") in {"", *NUMBERING}
        if (counts[plain(name)] > 1 or bare) and _at(groups, i) not in {"", name}:
            names[i] = f"{_at(groups, i)} {name}"
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


def _are_headings(upper: Sequence[str], lower: Sequence[str]) -> bool:
    """Whether a row holds headings over groups of the names beneath: merged across, or with gaps that these fill."""
    over, names = [plain(cell) for cell in upper if cell.strip()], [plain(cell) for cell in lower if cell.strip()]
    groups = set(over)
    is_grouped = len(groups) < len(over) or len(over) < len(names)
    is_names = not any(sign.isdigit() for name in names for sign in name)
    return is_grouped and is_names and FEWEST_GROUPS <= len(groups) < len(names)


def _are_names(head: Head, at: int) -> bool:
    """Whether row ``at``, a row of words, can be names: rows beneath hold numbers, and none has a word of it again."""
    beneath = [list(map(plain, row)) for row in head[at + 1 :]]
    again = any(cell and cell == _at(row, i) for i, cell in enumerate(map(plain, head[at])) for row in beneath)
    return not again and any(sign.isdigit() for row in beneath for cell in row for sign in cell)


def _to_the_right(headings: Sequence[str]) -> list[str]:
    """Headings with each gap filled by the one on its left, as where a merged cell was saved as text."""
    found: list[str] = []
    for here in headings:
        found.append(here or (found[-1] if found else ""))
    return found


def _at(cells: Sequence[str], place: int) -> str:
    return cells[place] if place < len(cells) else ""

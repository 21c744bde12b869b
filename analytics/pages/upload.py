"""Files that a reader brings, as data: what is shown of them first, and what is done with them once approved."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from analytics.contract.roles import Act

if TYPE_CHECKING:
    from analytics.pages.page import Part

Files = tuple[tuple[str, bytes], ...]
"""Files by name; they stay in memory and are written nowhere."""


@dataclass(frozen=True, slots=True)
class Looked:
    """What would become of files: parts to show, a text the reader may mend, and whether they can go in as they are.

    ``text`` empty: nothing is there to mend.
    """

    parts: "tuple[Part, ...]"
    text: str = ""
    ready: bool = False


@dataclass(frozen=True, slots=True)
class Upload:
    """A place to bring files to.

    ``look`` takes the files and the text as mended ("" at first) and changes nothing; ``approve`` takes the same, puts
    the files in and gives the sentence to show. A LeakbackError of either is shown as its sentence. ``endings`` are the
    kinds of file taken, ``text_label`` names the text, and ``verb`` the button. ``needs`` is the act that a reader must
    be allowed; undeclared, only who may do everything sees the place.
    """

    key: str
    label: str
    endings: tuple[str, ...]
    text_label: str
    verb: str
    look: Callable[[Files, str], Looked] = field(compare=False)
    approve: Callable[[Files, str], str] = field(compare=False)
    needs: Act | None = None

"""What a page offers to do: its forms and uploads, wherever on it they stand."""

from collections.abc import Iterator

from analytics.pages.form import Form
from analytics.pages.page import Folded, Part, Section
from analytics.pages.upload import Upload


def offers(parts: tuple[Part, ...]) -> Iterator[Form | Upload]:
    """Every form and upload among ``parts``, in order."""
    for part in parts:
        if isinstance(part, Form | Upload):
            yield part
        elif isinstance(part, Section | Folded):
            yield from offers(part.parts)

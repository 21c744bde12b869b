"""All that is on a page, wherever on it that stands, and what of it is not for a screen alone."""

from collections.abc import Iterator, Sequence

from analytics.pages.form import Form
from analytics.pages.page import Downloads, Folded, Part, Section
from analytics.pages.upload import Upload

ON_SCREEN = (Downloads, Form, Folded, Upload)
"""What can only be acted on at a screen: paper and the terminal leave it out."""


def every_part(parts: Sequence[Part]) -> Iterator[Part]:
    """Each of ``parts`` and, after a section or what is folded away, the parts within it, in order."""
    for part in parts:
        yield part
        if isinstance(part, Section | Folded):
            yield from every_part(part.parts)


def readable(parts: Sequence[Part]) -> Iterator[Part]:
    """``parts`` as paper and the terminal have them: what only a phone folds away stands, what is acted on does not."""
    for part in parts:
        if isinstance(part, Folded) and part.on_a_phone:
            yield from readable(part.parts)
        elif not isinstance(part, ON_SCREEN):
            yield part

"""All that is on a page, wherever on it that stands."""

from collections.abc import Iterator, Sequence

from analytics.pages.page import Folded, Part, Section


def every_part(parts: Sequence[Part]) -> Iterator[Part]:
    """Each of ``parts`` and, after a section or what is folded away, the parts within it, in order."""
    for part in parts:
        yield part
        if isinstance(part, Section | Folded):
            yield from every_part(part.parts)
